"""California's figures: of every system and facility that the program covered, whether anything moved or not.

What the report asks for, each system and each facility, is from memory of 17 CCR 95388; its scope, stationary
refrigeration with more than 50 lb of a gas of 150 or more, is 17 CCR 95381 and 95382 (the 150 from memory).
"""

from dataclasses import replace
from decimal import Decimal

import pytest

from compliance.selectors.reports.document import Table
from jobs.models import Appliance, StatementKind
from jobs.services.events import service_event_file
from jobs.services.submission import INTO_APPLIANCE, OUT_OF_APPLIANCE, TransferEntry
from portal.accounts.models import User
from tests.compliance.filings.acts import file_case
from tests.compliance.firm import add_appliance, add_customer, add_site, day, file, noon, pounds, visit
from tests.compliance.reports.asking import document, question

ZERO = Decimal("0.000")
FACILITY = "Larkspur Grocers, Bay store"
ON = day("2026-11-25")


@pytest.fixture
def rack(admin: User) -> Appliance:
    site = add_site(admin, add_customer(admin), "Bay store", jurisdiction="us-california")
    fields = {"charge_lb": "300", "refrigerant": "R-404A", "category": "commercial_refrigeration"}
    return add_appliance(admin, "Rack", site=site, **fields)


def report(year: int = 2026) -> tuple[list[dict[str, object]], ...]:
    """Systems, facilities, and what isn't covered."""
    made = document("california-annual", question(year, as_of=ON, known_at=noon(ON)))
    return tuple(map(rows, made.tables))


def rows(table: Table) -> list[dict[str, object]]:
    return [dict(zip(table.header, row, strict=True)) for row in table.rows]


def test_a_system_of_which_nothing_moved_stands_with_zeros(rack: Appliance) -> None:
    (system,), (facility,), outside = report()

    assert (system["Facility"], system["System"], system["Full charge (lb)"]) == (FACILITY, "Rack", 300)
    assert list(system.values())[-5:] == [ZERO, ZERO, 0, 0, 0]
    assert list(facility.values()) == [FACILITY, "R-404A", ZERO, ZERO, ZERO, ZERO]
    assert outside == []


def test_a_visit_that_moved_nothing_counts_and_a_filing_is_no_visit(admin: User, rack: Appliance) -> None:
    file(admin, rack, "2025-12-01", inspected=True)
    file(admin, rack, "2026-03-02")
    file(admin, rack, "2026-04-02", inspected=True)
    file_case(admin, rack, "annual_report_filed", "2026-02-20")

    (system,), (facility,), _ = report()

    assert (system["Service visits"], system["Inspections"]) == (2, 1)
    assert facility["Charged (lb)"] == ZERO


@pytest.mark.parametrize(("year", "is_listed"), [(2025, True), (2026, True), (2027, False)])
def test_a_retired_system_is_listed_until_the_year_of_its_retirement(
    admin: User, rack: Appliance, year: int, is_listed: bool
) -> None:
    file(admin, rack, "2026-02-10", removed=[("290", None)], stated=[(StatementKind.RETIRED, {})])
    on = day("2027-02-01")

    made = document("california-annual", question(year, as_of=on, known_at=noon(on)))

    systems, facilities, outside = map(rows, made.tables)
    assert [line["System"] for line in systems] == ["Rack"] * is_listed
    assert [line["Facility"] for line in facilities] == [FACILITY] * is_listed
    assert [line["Why"] for line in outside] == ([] if is_listed else ["It was retired on 2026-02-10."])


def test_a_system_that_left_the_program_in_the_year_stands_as_it_was(admin: User, rack: Appliance) -> None:
    new_charge = {"refrigerant": "R-744", "full_charge_mg": pounds("200").mass_mg}
    submission = replace(
        visit(rack, "2026-05-04", stated=[(StatementKind.RETROFITTED, new_charge)]),
        transfers=(
            TransferEntry(OUT_OF_APPLIANCE, None, pounds("280"), refrigerant="R-404A", reason="retrofit"),
            TransferEntry(INTO_APPLIANCE, None, pounds("200"), refrigerant="R-744", reason="retrofit"),
        ),
    )
    service_event_file(by=admin, submission=submission, filed_at=noon(day("2026-05-04")))

    (system,), facilities, outside = report()

    assert (system["Refrigerant"], system["Full charge (lb)"]) == ("R-404A", 300)
    assert [(line["Refrigerant"], line["Charged (lb)"], line["Recovered (lb)"]) for line in facilities] == [
        ("R-404A", ZERO, 280),
        ("R-744", 200, ZERO),
    ]
    assert outside == []


def test_what_the_program_never_covered_is_no_system(admin: User, rack: Appliance) -> None:
    add_appliance(admin, "Chiller", site=rack.site)

    systems, facilities, (outside,) = report()

    assert [line["System"] for line in systems] == ["Rack"]
    assert len(facilities) == 1
    assert outside["Appliance"] == "Chiller"
    assert "not comfort cooling" in outside["Why"]
