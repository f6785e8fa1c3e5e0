"""A small firm for tests: appliances wherever they are needed, and visits that other contractors made to them.

Others' work counts in law as ours does and needs no cylinder, so a test can say what it is about and no more.
"""

import datetime
import uuid

import time_machine

from jobs.models import Appliance, Customer, Leak, ServiceEvent, Site, Technician, WorkOrigin
from jobs.services.appliances import appliance_register
from jobs.services.customers import customer_register, site_register
from jobs.services.entries import ApplianceEntry, EnteredMass
from jobs.services.events import service_event_amend, service_event_file
from jobs.services.submission import (
    INTO_APPLIANCE,
    OUT_OF_APPLIANCE,
    EventSubmission,
    InspectionEntry,
    LeakEntry,
    RepairEntry,
    StatementEntry,
    TestEntry,
    TransferEntry,
)
from jobs.services.technicians import certification_record, technician_register
from portal.accounts.models import User

# When the registers were filled: before any visit of the tests.
REGISTERED_AT = datetime.datetime(2025, 6, 1, 18, tzinfo=datetime.UTC)
# A customer's contact is reminded too.
AGREED = {"is_reminded": True, "reminders_agreed_on": datetime.date(2025, 5, 30)}
INITIAL = "initial_verification_test"
FOLLOW_UP = "follow_up_verification_test"


def day(text: str) -> datetime.date:
    return datetime.date.fromisoformat(text)


def noon(on: datetime.date) -> datetime.datetime:
    """Noon in Chicago or thereabouts, on that day."""
    return datetime.datetime.combine(on, datetime.time(18), datetime.UTC)


def pounds(value: str) -> EnteredMass:
    return EnteredMass.parse(value, "lb")


def add_customer(by: User, name: str = "Larkspur Grocers", **fields: object) -> Customer:
    return Customer.objects.filter(name=name).first() or customer_register(by=by, name=name, **fields)


@time_machine.travel(REGISTERED_AT)
def add_site(by: User, customer: Customer, name: str = "North store", **fields: object) -> Site:
    place = {
        "street": "12 Quarry Road",
        "city": "Dubuque",
        "time_zone": "America/Chicago",
        "jurisdiction": "us-federal",
        "leak_rate_method": "annualizing",
    }
    return Site.objects.filter(customer=customer, name=name).first() or site_register(
        by=by, customer=customer, name=name, **{**place, **fields}
    )


def add_technician(by: User, user: User | None = None, full_name: str = "Tamsin Okafor") -> Technician:
    technician = technician_register(by=by, full_name=full_name, user=user)
    certification_record(
        by=by,
        technician=technician,
        type="universal",
        number=f"U-{technician.pk}",
        issuer="Northern Lakes Technical Institute",
        issued_on=day("2015-06-01"),
    )
    return technician


@time_machine.travel(REGISTERED_AT)
def add_appliance(
    by: User,
    name: str = "Chiller 1",
    *,
    site: Site | None = None,
    charge_lb: str = "100",
    refrigerant: str = "R-410A",
    category: str = "comfort_cooling",
    technician: Technician | None = None,
) -> Appliance:
    """A 100 lb comfort cooling appliance of 2019: under 40 CFR 84.106 from 2026 on, threshold 10 %."""
    entry = ApplianceEntry(
        name=name,
        category=category,
        refrigerant=refrigerant,
        full_charge=pounds(charge_lb),
        full_charge_method="manufacturer",
        installed_on=day("2019-05-01"),
        technician=technician,
    )
    site = site or add_site(by, add_customer(by))
    return appliance_register(by=by, site=site, entry=entry, filed_at=REGISTERED_AT)


def visit(appliance: Appliance, on: str, **rows: object) -> EventSubmission:
    """Describe a visit; rows in short: ``added`` and ``removed`` lists of (pounds, leak), ``found`` new leaks by name,
    ``found_again`` and ``repaired`` leaks, ``passed`` and ``failed`` lists of (kind of test, leak), ``stated`` lists
    of (kind, details).
    """
    found = [LeakEntry(name, f"Joint {name}", "Machine room") for name in rows.pop("found", ())]
    found += [LeakEntry(str(leak), "Joint", "Machine room", leak) for leak in rows.pop("found_again", ())]
    transfers = [
        TransferEntry(direction, None, pounds(mass), rows.pop("reason", "service"), leak)
        for direction, key in ((OUT_OF_APPLIANCE, "removed"), (INTO_APPLIANCE, "added"))
        for mass, leak in rows.pop(key, ())
    ]
    tests = [
        TestEntry(leak, kind, "Soap bubbles", is_passed)
        for is_passed, key in ((True, "passed"), (False, "failed"))
        for kind, leak in rows.pop(key, ())
    ]
    is_inspected = rows.pop("inspected", bool(found))
    return EventSubmission(
        submission_id=uuid.uuid4(),
        appliance=appliance,
        happened_on=day(on),
        technician=None,
        origin=WorkOrigin.OTHER_CONTRACTOR,
        contractor_name="Bellweather Refrigeration",
        work_kinds=("service",),
        work_done="Serviced.",
        is_separate_visit=True,
        transfers=tuple(transfers),
        inspection=InspectionEntry("Soap bubbles", rows.pop("is_complete", True)) if is_inspected else None,
        leaks_found=tuple(found),
        repairs=tuple(
            RepairEntry(leak, "Brazed anew", rows.pop("evacuated", False))
            for leak in rows.pop("repaired", ())
        ),
        tests=tuple(tests),
        statements=tuple(StatementEntry(kind, details) for kind, details in rows.pop("stated", ())),
        **rows,
    )


def file(
    by: User, appliance: Appliance, on: str, *, filed_at: datetime.datetime | None = None, **rows: object
) -> ServiceEvent:
    """File a visit, on its own day unless told when."""
    submission = visit(appliance, on, **rows)
    return service_event_file(by=by, submission=submission, filed_at=filed_at or noon(day(on))).event


def amend(
    by: User, event: ServiceEvent, on: str, *, filed_at: datetime.datetime, **rows: object
) -> ServiceEvent:
    submission = visit(event.appliance, on, **rows)
    filing = service_event_amend(
        by=by, event=event, submission=submission, reason="Misread scale", filed_at=filed_at
    )
    return filing.event


def leak(appliance: Appliance, number: int = 1) -> Leak:
    return Leak.objects.get(appliance=appliance, number=number)


def over_the_threshold(by: User, appliance: Appliance, on: str) -> ServiceEvent:
    """Add 12 lb to 100 lb: 12 % over 365 days, over the 10 % of comfort cooling (40 CFR 84.106(b)(1), (c)(2))."""
    return file(by, appliance, on, added=[("12", "A")], found=["A"])
