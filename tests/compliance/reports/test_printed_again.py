"""Every report as known at an instant says the same when it is printed later, whatever was recorded since."""

import datetime

import pytest
import time_machine

from compliance.selectors.reports.document import ReportDocument
from compliance.services.case_filings import case_filing_file
from compliance.services.reports.catalogue import REPORTS
from jobs.models import Appliance, Certification, Cylinder, ServiceEvent
from jobs.services.appliances import appliance_change, appliance_register
from jobs.services.customers import customer_change, site_change
from jobs.services.entries import ApplianceEntry
from jobs.services.events import service_event_amend, service_event_void
from jobs.services.technicians import technician_change
from portal.accounts.models import User
from tests.compliance.filings.acts import submission
from tests.compliance.firm import (
    REGISTERED_AT,
    add_appliance,
    add_customer,
    add_site,
    add_technician,
    day,
    file,
    leak,
    noon,
    pounds,
    visit,
)
from tests.compliance.reports.asking import document, question
from tests.factories import CylinderFactory
from tests.jobs.cylinder_acts import move, requalify

KNOWN_ON = day("2026-06-30")
THEN = noon(KNOWN_ON)
LATER = noon(day("2026-08-03"))


def documents(known_at: datetime.datetime) -> dict[str, ReportDocument]:
    asked = question(as_of=KNOWN_ON, known_at=known_at)
    return {report.slug: document(report.slug, asked) for report in REPORTS}


@pytest.fixture
def firm(admin: User) -> list[Appliance]:
    """A federal, a Californian, a European and a British appliance with visits, one disposed of, and a cylinder."""
    with time_machine.travel(REGISTERED_AT):
        customer = add_customer(admin)
        add_technician(admin)
        CylinderFactory(serial_number="CY-KEPT", requalified_on=day("2022-05-10"))
    kinds = {"us-federal": "R-22", "us-california": "R-404A", "eu": "R-404A", "uk": "R-404A"}
    appliances = [
        add_appliance(
            admin,
            f"Rack {number}",
            site=add_site(admin, customer, f"Store {number}", jurisdiction=jurisdiction),
            refrigerant=refrigerant,
            category="commercial_refrigeration",
        )
        for number, (jurisdiction, refrigerant) in enumerate(kinds.items())
    ]
    small = add_appliance(admin, "Small", charge_lb="20")
    for appliance in appliances:
        file(admin, appliance, "2026-03-02", added=[("24", None)], found=["Flare"])
        file(admin, appliance, "2026-03-10", repaired=[leak(appliance)])
    file(admin, appliances[0], "2026-04-20", added=[("120", None)])
    file(admin, small, "2026-05-04", removed=[("15", None)], reason="disposal", stated=[("retired", {})])
    return [*appliances, small]


def record_more(admin: User, firm: list[Appliance]) -> None:
    """What a firm records later: late and amended visits, filings, cylinders, and every register changed."""
    federal, californian, european, *_, small = firm
    for appliance in (federal, californian, european):
        file(admin, appliance, "2026-05-11", added=[("30", None)], filed_at=LATER)
    _, repair, addition, _ = ServiceEvent.objects.filter(appliance=federal).order_by("pk")
    service_event_amend(
        by=admin,
        event=addition,
        submission=visit(federal, "2026-04-20", added=[("2", None)]),
        reason="Misread scale",
        filed_at=LATER,
    )
    service_event_void(by=admin, event=repair, reason="Another appliance", filed_at=LATER)
    elected = submission(californian, "retrofit_or_retirement_elected", "2026-03-12")
    case_filing_file(by=admin, submission=elected, filed_at=LATER)
    cylinder = Cylinder.objects.get(serial_number="CY-KEPT")
    earlier = {"happened_on": day("2026-05-20"), "filed_at": LATER}
    requalify(cylinder, **earlier)
    move(cylinder, "site", site=federal.site, **earlier)
    CylinderFactory(serial_number="CY-NEW")
    customer_change(by=admin, customer=federal.site.customer, name="Larkspur Holdings")
    for appliance in firm[:4]:
        site_change(by=admin, site=appliance.site, name=f"{appliance.site.name} (sold)", city="Galena")
        appliance_change(by=admin, appliance=appliance, name=f"{appliance.name} anew", location="Roof")
    appliance_change(by=admin, appliance=small, serial_number="S-2")
    person = Certification.objects.get().technician
    technician_change(by=admin, technician=person, full_name="Tamsin Okafor-Reyes")
    add_technician(admin, full_name="Wren Halloran")
    late = ApplianceEntry(
        name="Late rack",
        category="commercial_refrigeration",
        refrigerant="R-404A",
        full_charge=pounds("80"),
        full_charge_method="manufacturer",
        installed_on=day("2019-05-01"),
    )
    for appliance in firm[:4]:
        appliance_register(by=admin, site=appliance.site, entry=late, filed_at=LATER)


def test_each_says_what_it_said_then_and_something_else_of_now(admin: User, firm: list[Appliance]) -> None:
    before = documents(THEN)
    with time_machine.travel(LATER, tick=False):
        record_more(admin, firm)

    again, later = documents(THEN), documents(LATER + datetime.timedelta(hours=1))

    assert [slug for slug, made in before.items() if made != again[slug]] == []
    # Else the line above would prove nothing.
    assert [slug for slug, made in before.items() if made.tables == later[slug].tables] == []
