"""What a person filing a service event may choose from: people, cylinders and leaks, with what helps to choose."""

import datetime
from collections.abc import Callable
from dataclasses import dataclass

from django.db.models import Q

from compliance.rulebook.certification import Coverage, covers
from compliance.rulebook.european_certification import Activity
from compliance.rulebook.refrigerants import Refrigerant, find
from compliance.rulebook.tables import Row
from compliance.selectors.recorded_leaks import LeakOption, recorded_leaks
from compliance.selectors.recovery import duties_at
from compliance.selectors.usual_instruments import (
    UsualInstruments,
    gauge_options,
    machine_options,
    scale_options,
    usual_instruments,
)
from jobs.models import (
    Appliance,
    Certification,
    Cylinder,
    CylinderKind,
    CylinderMove,
    CylinderPlace,
    RecoveryMachine,
    ServiceEvent,
    Technician,
)
from jobs.selectors.appliances import Charge, charge_in_force
from jobs.selectors.cylinders import fill_room, requalification_due_on
from jobs.selectors.european_scope import held_for
from jobs.selectors.evacuation import circuit_of
from jobs.selectors.instruments import InstrumentOnDay
from jobs.selectors.ledger import holder_balances
from jobs.selectors.requalification import condemned
from jobs.selectors.technicians import SCHEMES

# A visit may reach the portal so many days late, after its cylinder was shipped.
LATE_FILING = datetime.timedelta(days=30)

# Says of a type of certificate whether it covers the appliance.
CoversIt = Callable[[str], Coverage]


@dataclass(frozen=True)
class TechnicianOption:
    """A technician, with what the certificates on record say about this appliance."""

    technician: Technician
    note: str


@dataclass(frozen=True)
class CylinderOption:
    """A cylinder, what it holds (designation -> mg) and how much of the appliance's refrigerant still fits."""

    cylinder: Cylinder
    contents_mg: dict[str, int]
    room_mg: int | None
    is_past_requalification: bool
    is_condemned: bool

    @property
    def is_disposable(self) -> bool:
        return self.cylinder.kind == CylinderKind.DISPOSABLE


@dataclass(frozen=True)
class EventBackground:
    """An appliance with its charge in force, and everything that its event form offers.

    ``kept_statements`` are kinds that the amended record states, though they are filed by themselves now.
    """

    appliance: Appliance
    refrigerant: Refrigerant
    full_charge_mg: int
    technicians: tuple[TechnicianOption, ...]
    cylinders: tuple[CylinderOption, ...]
    leaks: tuple[LeakOption, ...]
    machines: tuple[RecoveryMachine, ...]
    scales: tuple[InstrumentOnDay, ...]
    gauges: tuple[InstrumentOnDay, ...]
    usual: UsualInstruments
    recovery_duties: tuple[Row, ...] = ()
    kept_statements: tuple[str, ...] = ()

    @property
    def use_of_recovered(self) -> Row | None:
        """What the law at the site asks of recovered refrigerant before it goes in, if anything."""
        return next((row for row in self.recovery_duties if row.key == "use_of_recovered"), None)

    @property
    def charge(self) -> Charge:
        """The charge in force on the day."""
        return Charge(self.refrigerant.designation, self.full_charge_mg)


def event_background(
    appliance: Appliance,
    *,
    on: datetime.date,
    technician: Technician | None = None,
    amended: ServiceEvent | None = None,
) -> EventBackground:
    """Gather what the event form of an appliance offers.

    Args:
        appliance: the one visited.
        on: the day whose refrigerant and full charge are shown.
        technician: who files; the instruments of that person's last events stand chosen.
        amended: the event being amended, whose people, cylinders and instruments stay on offer even if they have left.
    """
    charge = charge_in_force(appliance, on, without=amended)
    refrigerant = find(charge.refrigerant)
    circuit = circuit_of(appliance, charge)

    def covers_it(certification_type: str) -> Coverage:
        return covers(certification_type, circuit, on=on)

    return EventBackground(
        appliance=appliance,
        refrigerant=refrigerant,
        full_charge_mg=charge.full_charge_mg,
        technicians=tuple(_technicians(appliance, charge, on, covers_it, amended)),
        cylinders=tuple(_cylinders(refrigerant, on, amended)),
        leaks=tuple(recorded_leaks(appliance)),
        machines=tuple(machine_options(amended)),
        scales=tuple(scale_options(on, amended)),
        gauges=tuple(gauge_options(on, amended)),
        usual=usual_instruments(technician),
        recovery_duties=duties_at(appliance, charge, on=on),
        kept_statements=tuple(row.kind for row in amended.statements.all()) if amended else (),
    )


def _technicians(
    appliance: Appliance,
    charge: Charge,
    on: datetime.date,
    covers_it: CoversIt,
    amended: ServiceEvent | None,
) -> list[TechnicianOption]:
    wanted = Q(is_active=True)
    if amended:
        wanted |= Q(pk__in=[pk for pk in (amended.technician_id, amended.supervisor_id) if pk])
    people = Technician.objects.filter(wanted).prefetch_related("certifications")
    if appliance.site.jurisdiction in SCHEMES:
        return [TechnicianOption(person, _european_note(person, appliance, charge, on)) for person in people]
    return [TechnicianOption(person, _certificate_note(person, covers_it)) for person in people]


def _european_note(person: Technician, appliance: Appliance, charge: Charge, on: datetime.date) -> str:
    held = held_for(person, appliance, charge, Activity.WORK, on=on)
    if held.certification is None:
        return "no certificate of this country on record"
    name = _short_name(held.certification)
    return f"{name}; doesn't cover all work on this appliance" if held.shortfall else name


def _certificate_note(person: Technician, covers_it: CoversIt) -> str:
    held = [row for row in person.certifications.all() if row.ended_on is None]
    if not held:
        return "apprentice" if person.is_apprentice else "no certificate on record"
    covering = [row for row in held if covers_it(row.type).is_covered]
    if covering:
        return _short_name(covering[0])
    return f"{', '.join(map(_short_name, held))}; doesn't cover this appliance"


def _short_name(certification: Certification) -> str:
    """The type without its explanation, such as Type II."""
    return certification.get_type_display().partition(":")[0]


def _cylinders(
    refrigerant: Refrigerant, on: datetime.date, amended: ServiceEvent | None
) -> list[CylinderOption]:
    left_lately = CylinderMove.objects.filter(
        place=CylinderPlace.AWAY, withdrawal=None, happened_on__gt=on - LATE_FILING
    )
    wanted = ~Q(place=CylinderPlace.AWAY) | Q(pk__in=left_lately.values("cylinder"))
    if amended:
        wanted |= Q(holder__transfers_in__event=amended) | Q(holder__transfers_out__event=amended)
    cylinders = Cylinder.objects.filter(wanted).select_related("holder").distinct()
    contents: dict[int, dict[str, int]] = {}
    for (holder_id, designation), mass_mg in holder_balances().items():
        if mass_mg:
            contents.setdefault(holder_id, {})[designation] = mass_mg
    void = condemned([cylinder.pk for cylinder in cylinders], on=on)
    return [
        CylinderOption(
            cylinder,
            held := contents.get(cylinder.holder.pk, {}),
            fill_room(cylinder, refrigerant.designation, held),
            is_past_requalification=on > (requalification_due_on(cylinder) or on),
            is_condemned=cylinder.pk in void,
        )
        for cylinder in cylinders
    ]
