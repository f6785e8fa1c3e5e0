"""The annual leak rate report as a document of tables: what CSV, XLSX and a kept run print."""

from collections.abc import Iterator
from decimal import Decimal

from compliance.selectors.reports.annual_leak_rate import AnnualReport, ApplianceYear, annual_report_pieces
from compliance.selectors.reports.document import Column, ColumnKind, ReportDocument, Row, Section, Table
from compliance.selectors.reports.masses import kilograms, pounds
from compliance.selectors.reports.pieces import drained
from compliance.selectors.reports.year_figures import ApplianceFigures, RefrigerantTotal
from compliance.selectors.wording import kind_in_words, method_in_words, rule_in_words, status_in_words

SHORT_COLUMNS = (Column("What", width=60), Column("Number", ColumnKind.COUNT))

MOVED_COLUMNS = (
    Column("Refrigerant"),
    Column("Added in year, gross (lb)", ColumnKind.MASS),
    Column("Added in year, gross (kg)", ColumnKind.MASS),
    Column("Removed in year, gross (lb)", ColumnKind.MASS),
    Column("Removed in year, gross (kg)", ColumnKind.MASS),
)

PLACE = (Column("Customer", width=28), Column("Site", width=24), Column("Appliance", width=28))

APPLIANCE_COLUMNS = (
    *PLACE,
    Column("Category"),
    Column("Refrigerant"),
    Column("Full charge (lb)", ColumnKind.MASS),
    Column("Full charge (kg)", ColumnKind.MASS),
    Column("Full charge determined by", width=40),
    Column("Leak rate method"),
    Column("Installed on", ColumnKind.DATE),
    Column("Rules that apply"),
    *MOVED_COLUMNS[1:],
    Column("Highest leak rate (%)", ColumnKind.PERCENT),
    Column("Threshold (%)", ColumnKind.PERCENT),
    Column("Over threshold"),
    Column("125 % of full charge reached"),
)

ADDITION_COLUMNS = (
    *PLACE,
    Column("Refrigerant"),
    Column("Date", ColumnKind.DATE),
    Column("Service event"),
    Column("Rule"),
    Column("Method"),
    Column("Counted as added (lb)", ColumnKind.MASS),
    Column("Counted as added (kg)", ColumnKind.MASS),
    Column("Days", ColumnKind.COUNT),
    Column("Leak rate (%)", ColumnKind.PERCENT),
    Column("Threshold (%)", ColumnKind.PERCENT),
    Column("Over threshold"),
    Column("Arithmetic", width=80),
)

OBLIGATION_COLUMNS = (
    *PLACE,
    Column("Rule"),
    Column("Obligation"),
    Column("Opened on", ColumnKind.DATE),
    Column("Due on", ColumnKind.DATE),
    Column("Status"),
    Column("Met on", ColumnKind.DATE),
    Column("Paragraph"),
    Column("Why", width=80),
)

ROLLING_COLUMNS = (
    *PLACE,
    Column("Rule"),
    Column("From", ColumnKind.DATE),
    Column("Added that day, net (lb)", ColumnKind.MASS),
    Column("Added in 365 days (lb)", ColumnKind.MASS),
    Column("Full charge (lb)", ColumnKind.MASS),
    Column("Rolling rate (%)", ColumnKind.PERCENT),
    Column("Threshold (%)", ColumnKind.PERCENT),
)

ABOUT_ROLLING = (
    "Of each appliance that passed half its threshold: what was added in the 365 days to each day, in percent of its "
    "full charge (40 CFR 82.152), as it changed in the course of the year."
)


def annual_report_document(report: AnnualReport) -> ReportDocument:
    """The report's tables: sums, appliances, additions, obligations, and the steps of the plotted rolling rates.

    Made piece by piece: of what is calculated for a piece only its rows are kept.
    """
    appliances: list[Row] = []
    additions: list[Row] = []
    obligations: list[Row] = []
    rolling: list[Row] = []
    for piece in drained(annual_report_pieces(report)):
        for row in piece.appliances:
            appliances.append(_appliance(row))
            additions.extend(_additions(row))
            obligations.extend(_obligations(row))
            rolling.extend(_rolling(row))
    return ReportDocument(
        title=report.title,
        whose=report.parameters.whose,
        facts=report.parameters.facts,
        sections=(
            Section("In short", tables=(_in_short(report), _moved(report))),
            Section("Appliances", tables=(Table("Appliances", APPLIANCE_COLUMNS, tuple(appliances)),)),
            Section("Additions", tables=(Table("Additions", ADDITION_COLUMNS, tuple(additions)),)),
            Section("Clocks", tables=(Table("Obligations", OBLIGATION_COLUMNS, tuple(obligations)),)),
            Section(
                "Rolling rates",
                (ABOUT_ROLLING,),
                (Table("Rolling rates", ROLLING_COLUMNS, tuple(rolling)),),
            ),
        ),
    )


def _in_short(report: AnnualReport) -> Table:
    return Table("In short", SHORT_COLUMNS, report.in_short)


def _moved(report: AnnualReport) -> Table:
    return Table(
        "Refrigerant moved",
        MOVED_COLUMNS,
        tuple((total.designation, *_both(total)) for total in report.figures.totals),
        empty=f"Nothing was added or removed in {report.year}.",
    )


def _both(moved: RefrigerantTotal | ApplianceFigures) -> tuple[Decimal, Decimal, Decimal, Decimal]:
    """What was added and what was removed, each in pounds and kilograms."""
    added_mg, removed_mg = moved.added_mg, moved.removed_mg
    return (pounds(added_mg), kilograms(added_mg), pounds(removed_mg), kilograms(removed_mg))


def _place(row: ApplianceYear) -> tuple[str, str, str]:
    site = row.appliance.site
    return (site.customer.name, site.name, row.appliance.name)


def _yes(is_so: bool) -> str:  # noqa: FBT001
    return "yes" if is_so else "no"


def _appliance(row: ApplianceYear) -> Row:
    appliance, figures, highest = row.appliance, row.figures, row.highest
    return (
        *_place(row),
        appliance.get_category_display(),
        figures.refrigerant,
        pounds(figures.full_charge_mg),
        kilograms(figures.full_charge_mg),
        row.charge_basis,
        row.methods,
        appliance.installed_on,
        row.rules,
        *_both(figures),
        highest.percent_rounded if highest else None,
        highest.threshold_pct if highest else None,
        _yes(figures.is_over),
        _yes(figures.is_chronic),
    )


def _additions(row: ApplianceYear) -> Iterator[Row]:
    for rate, refrigerant in zip(row.rates, row.rated_refrigerants, strict=True):
        yield (
            *_place(row),
            refrigerant,
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


def _obligations(row: ApplianceYear) -> Iterator[Row]:
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


def _rolling(row: ApplianceYear) -> Iterator[Row]:
    for course in row.courses:
        for step in course.steps:
            yield (
                *_place(row),
                rule_in_words(course.rule),
                step.on,
                None if step.added_mg is None else pounds(step.added_mg),
                pounds(step.counted_mg),
                pounds(step.full_charge_mg),
                step.percent_rounded,
                course.threshold_pct,
            )
