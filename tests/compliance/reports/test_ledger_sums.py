"""Totals of the reports against a plain sum over the ledger's rows, each read as it stands in the database.

A row that was reversed and its reversal undo each other: neither is counted.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal

import pytest

from compliance.selectors.reports.document import Table
from jobs.models import Appliance, CaseFiling, ServiceEvent, Transfer
from portal.accounts.models import User
from tests.compliance.firm import day
from tests.compliance.histories import lively_firm
from tests.compliance.reports.asking import document, question

YEARS = (2024, 2025, 2026)
THOUSANDTH = Decimal("0.001")
FILLING, EMPTYING = {"installation", "retrofit"}, {"disposal", "retrofit"}


@dataclass(frozen=True)
class LedgerRow:
    """One transfer that stands: from where to where, as (kind of holder, its appliance)."""

    on: date
    refrigerant: str
    mass_mg: int
    reason: str
    event: int | None
    source: tuple[str, int | None]
    target: tuple[str, int | None]

    @property
    def added_to(self) -> int | None:
        """The appliance that a visit put it into."""
        return self.target[1] if self.event else None

    @property
    def taken_from(self) -> int | None:
        """The appliance that a visit took it out of."""
        return self.source[1] if self.event else None


def ledger(until: date = date.max) -> list[LedgerRow]:
    """Every row of the ledger up to a day that was not reversed."""
    rows = list(Transfer.objects.select_related("from_holder", "to_holder"))
    undone = {row.reverses_id for row in rows}
    return [
        LedgerRow(
            row.happened_on,
            row.refrigerant,
            row.mass_mg,
            row.reason,
            row.event_id,
            (row.from_holder.kind, row.from_holder.appliance_id),
            (row.to_holder.kind, row.to_holder.appliance_id),
        )
        for row in rows
        if row.reverses_id is None and row.pk not in undone and row.happened_on <= until
    ]


def total(rows: Iterable[LedgerRow], counts: Callable[[LedgerRow], bool]) -> int:
    return sum(row.mass_mg for row in rows if counts(row))


def purged(refrigerant: str, year: int) -> int:
    """What filings state of the year’s additions as purged and destroyed: it left the equipment, but was no loss."""
    filings = CaseFiling.objects.filter(kind="purged_and_destroyed", superseded_by=None, is_void=False)
    return sum(
        filing.details["destroyed"]["mg"]
        for filing in filings.select_related("appliance")
        for event in ServiceEvent.objects.filter(appliance=filing.appliance, happened_on__year=year)
        if event.reference == filing.details["addition_visit"] and filing.appliance.refrigerant == refrigerant
    )


# Source: 1 lb = 0.45359237 kg exactly (NIST Handbook 44, appendix C).
def lb(mass_mg: int) -> Decimal:
    return (mass_mg / Decimal("453592.37")).quantize(THOUSANDTH, ROUND_HALF_EVEN)


def kg(mass_mg: int) -> Decimal:
    return Decimal(mass_mg).scaleb(-6).quantize(THOUSANDTH, ROUND_HALF_EVEN)


def rows_of(table: Table) -> list[dict[str, object]]:
    return [dict(zip(table.header, row, strict=True)) for row in table.rows]


def totals_of(table: Table) -> dict[str, object]:
    assert table.totals
    return dict(zip(table.header, table.totals, strict=True))


def tables(slug: str, **asked: object) -> dict[str, Table]:
    return {table.name: table for table in document(slug, question(**asked)).tables}


@pytest.fixture
def lively(admin: User) -> list[Appliance]:
    """Appliances under every law, with late filings, amendments and voids."""
    appliances = lively_firm(admin, 3)
    assert Transfer.objects.filter(reverses__isnull=False).exists()
    return appliances


def check_annual(year: int, until: date, **asked: object) -> int:
    """Hold the annual report against the ledger; returns how many milligrams moved."""
    made = tables("annual-leak-rate", year=year, **asked)
    of_year = [row for row in ledger(until) if row.on.year == year]
    names = {(one.site.customer.name, one.site.name, one.name): one.pk for one in Appliance.objects.all()}
    for line in rows_of(made["Appliances"]):
        pk = names[line["Customer"], line["Site"], line["Appliance"]]
        added_mg = total(of_year, lambda row, pk=pk: row.added_to == pk)
        removed_mg = total(of_year, lambda row, pk=pk: row.taken_from == pk)
        assert line["Added in year, gross (lb)"] == lb(added_mg)
        assert line["Added in year, gross (kg)"] == kg(added_mg)
        assert line["Removed in year, gross (lb)"] == lb(removed_mg)
        assert line["Removed in year, gross (kg)"] == kg(removed_mg)
    moved = rows_of(made["Refrigerant moved"])
    assert {line["Refrigerant"] for line in moved} == {row.refrigerant for row in of_year if row.event}
    for line in moved:
        of_one = [row for row in of_year if row.refrigerant == line["Refrigerant"]]
        assert line["Added in year, gross (lb)"] == lb(total(of_one, lambda row: bool(row.added_to)))
        assert line["Added in year, gross (kg)"] == kg(total(of_one, lambda row: bool(row.added_to)))
        assert line["Removed in year, gross (lb)"] == lb(total(of_one, lambda row: bool(row.taken_from)))
        assert line["Removed in year, gross (kg)"] == kg(total(of_one, lambda row: bool(row.taken_from)))
    return total(of_year, lambda row: bool(row.event))


@pytest.mark.parametrize("year", YEARS)
def test_annual_report_of_the_demo_firm(officer: User, year: int) -> None:
    assert check_annual(year, date.max) > 0


@pytest.mark.parametrize("as_of", ["2026-03-31", "2026-06-30"])
def test_annual_report_after_amendments_up_to_a_day(lively: list[Appliance], as_of: str) -> None:
    assert check_annual(2026, day(as_of), as_of=day(as_of)) > 0


@pytest.mark.parametrize("year", YEARS)
def test_mass_balance_stock(officer: User, year: int) -> None:
    table = tables("mass-balance", year=year)["Stock"]
    rows = ledger()

    def stock(name: str, until: date) -> int:
        into = total(
            rows, lambda row: row.refrigerant == name and row.on <= until and row.target[0] == "cylinder"
        )
        out = total(
            rows, lambda row: row.refrigerant == name and row.on <= until and row.source[0] == "cylinder"
        )
        return into - out

    def from_kinds(name: str, *kinds: str) -> int:
        """What came into cylinders from holders of those kinds in the year, less what went back there."""
        of_year = [row for row in rows if row.refrigerant == name and row.on.year == year]
        came = total(of_year, lambda row: row.target[0] == "cylinder" and row.source[0] in kinds)
        return came - total(of_year, lambda row: row.source[0] == "cylinder" and row.target[0] in kinds)

    assert table.rows
    for line in rows_of(table):
        name = line["Refrigerant"]
        of_year = [row for row in rows if row.refrigerant == name and row.on.year == year]
        recovered = total(of_year, lambda row: row.target[0] == "cylinder" and row.source[0] == "appliance")
        charged = total(of_year, lambda row: row.source[0] == "cylinder" and row.target[0] == "appliance")
        assert line == {
            "Refrigerant": name,
            "In stock at the beginning (lb)": lb(stock(name, date(year - 1, 12, 31))),
            "Books begun (lb)": lb(from_kinds(name, "opening_balance")),
            "Bought (lb)": lb(from_kinds(name, "supplier")),
            "Recovered (lb)": lb(recovered),
            "Charged (lb)": lb(-charged),
            "Reclaimed (lb)": lb(from_kinds(name, "reclaimer")),
            "Destroyed (lb)": lb(from_kinds(name, "destruction_facility")),
            "Sold or taken over (lb)": lb(from_kinds(name, "buyer", "customer", "other_contractor")),
            "Found by weighing (lb)": lb(from_kinds(name, "stock_difference")),
            "To the air (lb)": lb(from_kinds(name, "atmosphere")),
            "In stock at the end (lb)": lb(stock(name, date(year, 12, 31))),
            "Out of balance (lb)": lb(0),
        }


@pytest.mark.parametrize("year", YEARS)
def test_mass_balance_emissions(officer: User, year: int) -> None:
    made = document("mass-balance", question(year))
    of_year = [row for row in ledger() if row.on.year == year and row.event]
    checked = 0
    for table in made.tables[1:3]:
        for line in rows_of(table):
            of_one = [row for row in of_year if row.refrigerant == line["Refrigerant"]]
            topped_up = total(of_one, lambda row: bool(row.added_to) and row.reason not in FILLING)
            taken_back = total(of_one, lambda row: bool(row.taken_from) and row.reason not in EMPTYING)
            recovered = total(of_one, lambda row: bool(row.taken_from) and row.reason in EMPTYING)
            left = purged(line["Refrigerant"], year)
            assert line["In use: charged, net (lb)"] == lb(topped_up - taken_back - left)
            assert line["Retired: recovered (lb)"] == lb(recovered)
            checked += bool(topped_up or recovered)
        if table.rows:
            for name in ("To the air (lb)", "To the air (kg)", "CO2 equivalent (t)"):
                added_up = sum(line[name] or 0 for line in rows_of(table))
                assert abs(totals_of(table)[name] - added_up) <= THOUSANDTH * len(table.rows) / 2
    assert checked


@pytest.mark.parametrize("year", range(2022, 2027))
def test_disposal_totals(officer: User, year: int) -> None:
    made = tables("disposal", year=year)
    jobs, months, sent = (
        made[name] for name in ("Appliances disposed of", "Recovered in each month", "Shipments")
    )
    listed = {int(line["Record"].removeprefix("SE-")) for line in rows_of(jobs)}
    recovered = [row for row in ledger() if row.event in listed and row.taken_from]
    for line in rows_of(months):
        of_one = [
            row
            for row in recovered
            if (f"{row.on:%Y-%m}", row.refrigerant) == (line["Month"], line["Refrigerant"])
        ]
        mass_mg = total(of_one, lambda _: True)
        assert (line["Recovered (lb)"], line["Recovered (kg)"]) == (lb(mass_mg), kg(mass_mg))
    recovered_mg = total(recovered, lambda _: True)
    for table in (jobs, months):
        if table.rows:
            sums = totals_of(table)
            assert (sums["Recovered (lb)"], sums["Recovered (kg)"]) == (lb(recovered_mg), kg(recovered_mg))
    sent_mg = total(
        ledger(),
        lambda row: row.on.year == year and row.target[0] in {"reclaimer", "destruction_facility"},
    )
    assert bool(sent.rows) is bool(sent_mg)
    if sent.rows:
        assert (totals_of(sent)["Sent (lb)"], totals_of(sent)["Sent (kg)"]) == (lb(sent_mg), kg(sent_mg))


def check_california(year: int) -> int:
    """Hold California's figures against the ledger; returns how many systems there are."""
    made = tables("california-annual", year=year)
    of_year = [row for row in ledger() if row.on.year == year]
    appliances = {
        (f"{one.site.customer.name}, {one.site.name}", one.name): one.pk for one in Appliance.objects.all()
    }
    facilities: defaultdict[tuple[object, str], list[int]] = defaultdict(lambda: [0, 0])
    for line in rows_of(made["Systems"]):
        pk = appliances[line["Facility"], line["System"]]
        charged = [row for row in of_year if row.added_to == pk]
        recovered = [row for row in of_year if row.taken_from == pk]
        assert line["Charged (lb)"] == lb(total(charged, lambda _: True))
        assert line["Recovered (lb)"] == lb(total(recovered, lambda _: True))
        facilities[line["Facility"], line["Refrigerant"]][0] += 0
        for place, moved in enumerate((charged, recovered)):
            for row in moved:
                facilities[line["Facility"], row.refrigerant][place] += row.mass_mg
    assert {
        (line["Facility"], line["Refrigerant"]): tuple(line.values())[2:]
        for line in rows_of(made["Facilities"])
    } == {
        key: (lb(charged_mg), kg(charged_mg), lb(recovered_mg), kg(recovered_mg))
        for key, (charged_mg, recovered_mg) in facilities.items()
    }
    return len(made["Systems"].rows)


@pytest.mark.parametrize("year", YEARS)
def test_californias_figures_of_the_demo_firm(officer: User, year: int) -> None:
    assert check_california(year) > 0


def test_californias_figures_after_amendments(lively: list[Appliance]) -> None:
    assert check_california(2026) > 0


def check_equipment_record() -> int:
    """Hold the equipment record against the ledger; returns how many milligrams moved."""
    made = document("equipment-record", question())
    rows = ledger()
    moved_mg = 0
    appliances = {(one.site.name, one.name): one.pk for one in Appliance.objects.all()}
    listed, *records = made.tables
    for line, record in zip(rows_of(listed), records, strict=True):
        pk = appliances[line["Site"], line["Appliance"]]
        entries = [entry for entry in rows_of(record) if entry["Mass (kg)"] is not None]
        for whats, of_one in (
            (("Added", "Added at installation"), [row for row in rows if row.added_to == pk]),
            (("Recovered",), [row for row in rows if row.taken_from == pk]),
        ):
            moved_mg += total(of_one, lambda _: True)
            assert sorted(
                (entry["Date"], entry["Gas"], entry["Mass (kg)"])
                for entry in entries
                if entry["What"] in whats
            ) == sorted((row.on, row.refrigerant, kg(row.mass_mg)) for row in of_one)
        filled_mg = total(rows, lambda row, pk=pk: row.added_to == pk and row.reason == "installation")
        assert line["Added at installation (kg)"] == (kg(filled_mg) if filled_mg else None)
    return moved_mg


def test_equipment_record_of_the_demo_firm(officer: User) -> None:
    assert check_equipment_record() > 0


def test_equipment_record_after_amendments(lively: list[Appliance]) -> None:
    assert check_equipment_record() > 0
