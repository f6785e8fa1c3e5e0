"""One appliance, its people and two cylinders: where the tests of the event pages play."""

import datetime
from dataclasses import dataclass

from jobs.models import Appliance, Cylinder, Technician
from jobs.services.appliances import appliance_register
from jobs.services.customers import customer_register, site_register
from jobs.services.cylinders import cylinder_register
from jobs.services.entries import ApplianceEntry, CylinderEntry, EnteredMass
from jobs.services.technicians import certification_record, technician_register
from portal.accounts.models import User
from tests import people

# Noon in Chicago; every test of the event pages stands on this day.
NOW = datetime.datetime(2026, 9, 1, 17, 0, tzinfo=datetime.UTC)
TODAY = datetime.date(2026, 9, 1)


def pounds(value: str) -> EnteredMass:
    return EnteredMass.parse(value, "lb")


@dataclass(frozen=True)
class Scene:
    """The appliance holds 60 lb of R-410A; ``supply`` 25 lb of it; ``recovery`` is empty and takes it."""

    admin: User
    user: User
    officer: User
    stranger: User
    technician: Technician
    apprentice: Technician
    appliance: Appliance
    supply: Cylinder
    recovery: Cylinder


def build_scene() -> Scene:
    """Register everything as the office would."""
    admin, user = people.office_admin(), people.technician_user()
    technician = technician_register(by=admin, full_name="Tamsin Okafor", user=user)
    certification_record(
        by=admin,
        technician=technician,
        type="universal",
        number="U-1001",
        issuer="Prairie Trades Examining Board",
        issued_on=datetime.date(2015, 3, 1),
    )
    apprentice = technician_register(
        by=admin,
        full_name="Perrin Vale",
        is_apprentice=True,
        apprentice_registered_on=datetime.date(2026, 1, 12),
    )
    return Scene(
        admin=admin,
        user=user,
        officer=people.officer(),
        stranger=people.stranger(),
        technician=technician,
        apprentice=apprentice,
        appliance=register_appliance(admin, technician),
        supply=register_cylinder(admin, "CY-100", "refillable", contents="25"),
        recovery=register_cylinder(admin, "CY-200", "recovery"),
    )


def register_appliance(
    admin: User,
    technician: Technician,
    *,
    customer: str = "Ostrander Foods",
    name: str = "Rooftop chiller 3",
    **changes: object,
) -> Appliance:
    """Register a charged 60 lb comfort cooling appliance, or one that differs by ``changes``."""
    owner = customer_register(by=admin, name=customer, contact_name="Lev Brandt", phone="555-0180")
    site = site_register(
        by=admin,
        customer=owner,
        name="Mill Street plant",
        street="4 Mill Street",
        city="Larkhollow",
        time_zone="America/Chicago",
        jurisdiction="us-federal",
        leak_rate_method="annualizing",
    )
    fields = {
        "name": name,
        "category": "comfort_cooling",
        "refrigerant": "R-410A",
        "full_charge": pounds("60"),
        "full_charge_method": "manufacturer",
        "installed_on": datetime.date(2019, 5, 1),
        "serial_number": "RC3-5512",
        "technician": technician,
    }
    return appliance_register(by=admin, site=site, entry=ApplianceEntry(**fields | changes))


def register_cylinder(
    admin: User, serial_number: str, kind: str, *, contents: str = "", refrigerant: str = "R-410A"
) -> Cylinder:
    """Register a cylinder of 47.7 lb water capacity that is in date."""
    entry = CylinderEntry(
        serial_number=serial_number,
        kind=kind,
        specification="DOT-4BA400",
        water_capacity=pounds("47.7"),
        tare=pounds("28"),
        requalified_on=datetime.date(2024, 4, 1),
        refrigerant=refrigerant,
        place="van",
        contents=pounds(contents) if contents else None,
        contents_on=datetime.date(2025, 1, 2) if contents else None,
    )
    return cylinder_register(by=admin, entry=entry)
