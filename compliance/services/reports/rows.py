"""The annual leak rate report as tables of plain values, shared by CSV, XLSX and the tests."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from compliance.rulebook.masses import mass_answer
from compliance.selectors.annual_report import AnnualReport, ApplianceYear
from compliance.selectors.wording import kind_in_words, method_in_words, rule_in_words, status_in_words

Cell = str | int | Decimal | date | None


@dataclass(frozen=True)
class Table:
    """A named table with one row a line; masses stand in columns that name their unit."""

    name: str
    header: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


APPLIANCE_HEADER = (
    "Customer",
    "Site",
    "Appliance",
    "Category",
    "Refrigerant",
    "Full charge (lb)",
    "Full charge (kg)",
    "Full charge determined by",
    "Leak rate method",
    "Rules that apply",
    "Added in year, gross (lb)",
    "Removed in year, gross (lb)",
    "Highest leak rate (%)",
    "Threshold (%)",
    "Over threshold",
    "125 % of full charge reached",
)

ADDITION_HEADER = (
    "Customer",
    "Site",
    "Appliance",
    "Refrigerant",
    "Date",
    "Service event",
    "Rule",
    "Method",
    "Counted as added (lb)",
    "Counted as added (kg)",
    "Days",
    "Leak rate (%)",
    "Threshold (%)",
    "Over threshold",
    "Arithmetic",
)

OBLIGATION_HEADER = (
    "Customer",
    "Site",
    "Appliance",
    "Rule",
    "Obligation",
    "Opened on",
    "Due on",
    "Status",
    "Met on",
    "Paragraph",
    "Why",
)


def pounds(mass_mg: int) -> Decimal:
    """The mass in pounds with three decimals, as every format of the report prints it."""
    return Decimal(str(mass_answer(mass_mg)["lb"]))


def kilograms(mass_mg: int) -> Decimal:
    """The mass in kilograms with three decimals."""
    return Decimal(str(mass_answer(mass_mg)["kg"]))


def report_tables(report: AnnualReport) -> tuple[Table, Table, Table]:
    """The report's three tables: appliances, additions, obligations."""
    return (
        Table("Appliances", APPLIANCE_HEADER, tuple(_appliance(row) for row in report.appliances)),
        Table("Additions", ADDITION_HEADER, tuple(_each(report, _additions))),
        Table("Obligations", OBLIGATION_HEADER, tuple(_each(report, _obligations))),
    )


def _each(
    report: AnnualReport, cells: Callable[[ApplianceYear], Iterator[tuple[Cell, ...]]]
) -> Iterator[tuple[Cell, ...]]:
    for row in report.appliances:
        yield from cells(row)


def _place(row: ApplianceYear) -> tuple[str, str, str]:
    site = row.appliance.site
    return (site.customer.name, site.name, row.appliance.name)


def _yes(is_so: bool) -> str:  # noqa: FBT001
    return "yes" if is_so else "no"


def _appliance(row: ApplianceYear) -> tuple[Cell, ...]:
    appliance = row.appliance
    highest = row.highest
    return (
        *_place(row),
        appliance.get_category_display(),
        row.refrigerant,
        pounds(row.full_charge_mg),
        kilograms(row.full_charge_mg),
        appliance.get_full_charge_method_display(),
        appliance.site.get_leak_rate_method_display(),
        row.rules,
        pounds(row.gross_added_mg),
        pounds(row.gross_removed_mg),
        highest.percent_rounded if highest else None,
        highest.threshold_pct if highest else None,
        _yes(row.is_over),
        _yes(row.is_chronic),
    )


def _additions(row: ApplianceYear) -> Iterator[tuple[Cell, ...]]:
    for rate in row.rates:
        yield (
            *_place(row),
            row.refrigerant,
            rate.on,
            rate.event or "",
            rule_in_words(rate.rule),
            method_in_words(rate.method),
            pounds(rate.added_mg),
            kilograms(rate.added_mg),
            rate.days,
            rate.percent_rounded,
            rate.threshold_pct,
            _yes(rate.exceeds),
            rate.because,
        )


def _obligations(row: ApplianceYear) -> Iterator[tuple[Cell, ...]]:
    for obligation in row.obligations:
        yield (
            *_place(row),
            rule_in_words(obligation.rule),
            kind_in_words(obligation.kind),
            obligation.opened_on,
            obligation.due_on,
            status_in_words(obligation.status),
            obligation.met_on,
            obligation.citation,
            obligation.because,
        )
