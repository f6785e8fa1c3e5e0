"""Makes registers for tests with sound values; filed records are made through the services, as people make them."""

import datetime
import uuid
from typing import Any

import factory
from factory.django import DjangoModelFactory

from jobs.models import (
    Appliance,
    ApplianceCategory,
    Certification,
    CertificationType,
    Customer,
    Cylinder,
    CylinderKind,
    FullChargeMethod,
    Holder,
    HolderKind,
    Instrument,
    InstrumentKind,
    InstrumentUnit,
    Jurisdiction,
    RecoveryMachine,
    Site,
    SupplyStatus,
    Technician,
)
from jobs.services.entries import EnteredMass
from jobs.services.events import Filing, service_event_file
from jobs.services.stock import purchase_record
from jobs.services.submission import EventSubmission, TransferEntry
from portal.accounts.models import User

INSTALLED_ON = datetime.date(2019, 5, 1)
BOOKS_BEGAN_ON = datetime.date(2025, 1, 2)
HAPPENED_ON = datetime.date(2026, 3, 2)
FILED_AT = datetime.datetime(2026, 3, 2, 22, 0, tzinfo=datetime.UTC)


class UserFactory(DjangoModelFactory[User]):
    """A person without a role."""

    class Meta:
        model = User

    email = factory.Sequence(lambda n: f"person{n}@example.org")
    full_name = factory.Sequence(lambda n: f"Person {n}")


class CustomerFactory(DjangoModelFactory[Customer]):
    """A customer."""

    class Meta:
        model = Customer

    name = factory.Sequence(lambda n: f"Larkspur Dairy {n}")


class SiteFactory(DjangoModelFactory[Site]):
    """A site in the United States, in the Central time zone."""

    class Meta:
        model = Site

    customer = factory.SubFactory(CustomerFactory)
    name = factory.Sequence(lambda n: f"Plant {n}")
    street = "12 Mill Lane"
    city = "Dunmore"
    time_zone = "America/Chicago"


class TechnicianFactory(DjangoModelFactory[Technician]):
    """A technician with a universal certificate; ``certified`` names another type, or is False for none."""

    class Meta:
        model = Technician
        skip_postgeneration_save = True

    full_name = factory.Sequence(lambda n: f"Ivo Brandt {n}")

    @factory.post_generation
    def certified(self, create: bool, extracted: Any, **_: Any) -> None:
        """Give the technician a certificate."""
        kind = CertificationType.UNIVERSAL if extracted is None else extracted
        if create and kind:
            CertificationFactory(technician=self, type=kind)


class CertificationFactory(DjangoModelFactory[Certification]):
    """A certificate issued years before the events of the tests."""

    class Meta:
        model = Certification

    technician = factory.SubFactory(TechnicianFactory, certified=False)
    type = CertificationType.UNIVERSAL
    number = factory.Sequence(lambda n: f"608-{n:05d}")
    issuer = "Trades Examination Board"
    issued_on = datetime.date(2015, 6, 1)


class ApplianceFactory(DjangoModelFactory[Appliance]):
    """A chiller with 60 lb of R-410A whose account is open and empty; pass ``full_charge`` as ``"200 lb"``."""

    class Meta:
        model = Appliance
        skip_postgeneration_save = True

    class Params:
        full_charge = "60 lb"

    site = factory.SubFactory(SiteFactory)
    name = factory.Sequence(lambda n: f"Chiller {n}")
    category = ApplianceCategory.COMFORT_COOLING
    refrigerant = "R-410A"
    full_charge_mg = factory.LazyAttribute(lambda o: entered(o.full_charge).mass_mg)
    full_charge_entered = factory.LazyAttribute(lambda o: entered(o.full_charge).value)
    full_charge_unit = factory.LazyAttribute(lambda o: entered(o.full_charge).unit)
    full_charge_method = FullChargeMethod.MANUFACTURER
    installed_on = INSTALLED_ON
    registered_on = BOOKS_BEGAN_ON
    holder = factory.RelatedFactory("tests.factories.HolderFactory", "appliance", kind=HolderKind.APPLIANCE)


class CylinderFactory(DjangoModelFactory[Cylinder]):
    """An empty recovery cylinder of 47.7 lb water capacity, dedicated to nothing, its account open."""

    class Meta:
        model = Cylinder
        skip_postgeneration_save = True

    class Params:
        water_capacity = "47.7 lb"

    serial_number = factory.Sequence(lambda n: f"CY-{n:04d}")
    kind = CylinderKind.RECOVERY
    specification = "DOT-4BA400"
    water_capacity_mg = factory.LazyAttribute(lambda o: entered(o.water_capacity).mass_mg)
    water_capacity_entered = factory.LazyAttribute(lambda o: entered(o.water_capacity).value)
    water_capacity_unit = factory.LazyAttribute(lambda o: entered(o.water_capacity).unit)
    tare_mg = 12_700_586
    tare_entered = "28"
    requalified_on = datetime.date(2024, 4, 1)
    holder = factory.RelatedFactory("tests.factories.HolderFactory", "cylinder", kind=HolderKind.CYLINDER)


class RecoveryMachineFactory(DjangoModelFactory[RecoveryMachine]):
    """A certified, self-contained machine made after 15 November 1993."""

    class Meta:
        model = RecoveryMachine

    make = "Hollin"
    model = "R3"
    serial_number = factory.Sequence(lambda n: f"RM-{n:04d}")
    made_on = datetime.date(2019, 2, 1)
    certified_by = "Equipment Testing Institute"


class ScaleFactory(DjangoModelFactory[Instrument]):
    """A scale of 2 g divisions, never calibrated."""

    class Meta:
        model = Instrument

    kind = InstrumentKind.SCALE
    make = "Tarn"
    serial_number = factory.Sequence(lambda n: f"SC-{n:04d}")
    division_entered = "2"
    division_unit = InstrumentUnit.G
    division_mg = 2_000


class GaugeFactory(DjangoModelFactory[Instrument]):
    """A vacuum gauge of 1 micron divisions, never calibrated."""

    class Meta:
        model = Instrument

    kind = InstrumentKind.VACUUM_GAUGE
    make = "Tarn"
    serial_number = factory.Sequence(lambda n: f"VG-{n:04d}")
    division_entered = "1"
    division_unit = InstrumentUnit.MICRON


class HolderFactory(DjangoModelFactory[Holder]):
    """An account; appliances and cylinders open theirs themselves."""

    class Meta:
        model = Holder

    kind = HolderKind.SUPPLIER


def entered(mass: str) -> EnteredMass:
    """A mass as typed, from ``"7 lb"`` or ``"3+4.5 lb+oz"``."""
    value, unit = mass.split(" ")
    return EnteredMass.parse(value, unit)


def supply_cylinder(
    holds: str = "25 lb",
    *,
    by: User | None = None,
    supply_status: str = SupplyStatus.VIRGIN,
    facility: str = "",
    **fields: Any,
) -> Cylinder:
    """A refillable cylinder with R-410A (or ``refrigerant``), virgin unless told, bought on the day the books began."""
    fields.setdefault("refrigerant", "R-410A")
    cylinder = CylinderFactory(kind=CylinderKind.REFILLABLE, **fields)
    purchase_record(
        by=by or UserFactory(),
        cylinder=cylinder,
        supplier_name="Harbor Gas",
        refrigerant=cylinder.refrigerant,
        mass=entered(holds),
        supply_status=supply_status,
        facility=facility,
        happened_on=BOOKS_BEGAN_ON,
        filed_at=FILED_AT,
    )
    return cylinder


def charged(cylinder: Cylinder | None, mass: str = "7 lb", **fields: Any) -> TransferEntry:
    """A transfer into the appliance."""
    return TransferEntry("in", cylinder, entered(mass), **fields)


def recovered(cylinder: Cylinder | None, mass: str = "7 lb", **fields: Any) -> TransferEntry:
    """A transfer out of the appliance."""
    return TransferEntry("out", cylinder, entered(mass), **fields)


def submission(appliance: Appliance | None = None, **fields: Any) -> EventSubmission:
    """One visit of our own by a certified technician, with nothing moved unless ``transfers`` are given."""
    values: dict[str, Any] = {
        "submission_id": uuid.uuid4(),
        "appliance": appliance or ApplianceFactory(),
        "happened_on": HAPPENED_ON,
        "work_kinds": ("service",),
        "work_done": "Checked charge and pressures.",
        **fields,
    }
    if "technician" not in values:
        is_in_the_union = values["appliance"].site.jurisdiction == Jurisdiction.EU
        values["technician"] = TechnicianFactory(
            certified=CertificationType.EU_A1 if is_in_the_union else None
        )
    return EventSubmission(**values)


def file_event(
    appliance: Appliance | None = None,
    *,
    by: User | None = None,
    filed_at: datetime.datetime = FILED_AT,
    **fields: Any,
) -> Filing:
    """File a visit through the service."""
    return service_event_file(
        by=by or UserFactory(), submission=submission(appliance, **fields), filed_at=filed_at
    )
