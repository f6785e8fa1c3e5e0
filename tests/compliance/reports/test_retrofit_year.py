"""The annual leak rate report of a year in which an appliance changed its refrigerant."""

from dataclasses import replace

from jobs.models import Appliance, StatementKind
from jobs.services.events import service_event_file
from jobs.services.submission import INTO_APPLIANCE, OUT_OF_APPLIANCE, TransferEntry
from portal.accounts.models import User
from tests.compliance.firm import day, noon, pounds, visit
from tests.compliance.reports.asking import answer, document, question


def test_each_refrigerant_of_a_retrofitted_appliance_has_its_own_sum(admin: User, chiller: Appliance) -> None:
    new_charge = {"refrigerant": "R-32", "full_charge_mg": pounds("80").mass_mg}
    submission = replace(
        visit(chiller, "2026-03-02", stated=[(StatementKind.RETROFITTED, new_charge)]),
        transfers=(
            TransferEntry(OUT_OF_APPLIANCE, None, pounds("90"), refrigerant="R-410A", reason="retrofit"),
            TransferEntry(INTO_APPLIANCE, None, pounds("80"), refrigerant="R-32", reason="retrofit"),
        ),
    )
    service_event_file(by=admin, submission=submission, filed_at=noon(day("2026-03-02")))

    asked = question(as_of=day("2026-03-10"), known_at=noon(day("2026-03-10")))
    report = answer("annual-leak-rate", asked)

    assert [(total.designation, total.added_mg, total.removed_mg) for total in report.figures.totals] == [
        ("R-32", pounds("80").mass_mg, 0),
        ("R-410A", 0, pounds("90").mass_mg),
    ]
    assert document("annual-leak-rate", asked).tables[2].rows[0][4] == "R-32"
