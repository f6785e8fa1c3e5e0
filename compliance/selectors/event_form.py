"""What a person filing a service event may choose from: people, cylinders and leaks, with what helps to choose."""

import datetime
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from django.db.models import Q

from compliance.rulebook.certification import Coverage, covers
from compliance.rulebook.evacuation import EvacuationLevel, required_evacuation
from compliance.rulebook.refrigerants import Refrigerant, find
from compliance.selectors.recorded_leaks import LeakOption, recorded_leaks
from jobs.models import (
    Appliance,
    Certification,
    Cylinder,
    CylinderKind,
    CylinderPlace,
    Jurisdiction,
    ServiceEvent,
    Technician,
)
from jobs.selectors.appliances import charge_in_force
from jobs.selectors.cylinders import fill_room, requalification_due_on
from jobs.selectors.ledger import holder_balances

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

    @property
    def is_disposable(self) -> bool:
        return self.cylinder.kind == CylinderKind.DISPOSABLE


@dataclass(frozen=True)
class EventBackground:
    """An appliance with its charge in force, and everything that its event form offers."""

    appliance: Appliance
    refrigerant: Refrigerant
    full_charge_mg: int
    technicians: tuple[TechnicianOption, ...]
    cylinders: tuple[CylinderOption, ...]
    leaks: tuple[LeakOption, ...]


def event_background(
    appliance: Appliance, *, on: datetime.date, amended: ServiceEvent | None = None
) -> EventBackground:
    """Gather what the event form of an appliance offers.

    Args:
        appliance: the one visited.
        on: the day whose refrigerant and full charge are shown.
        amended: the event being amended, whose people and cylinders stay on offer even if they have left.
    """
    charge = charge_in_force(appliance, on, without=amended)
    refrigerant = find(charge.refrigerant)
    covers_it = partial(
        covers,
        refrigerant=refrigerant,
        full_charge_mg=charge.full_charge_mg,
        is_hermetically_sealed=appliance.is_hermetically_sealed,
    )
    return EventBackground(
        appliance=appliance,
        refrigerant=refrigerant,
        full_charge_mg=charge.full_charge_mg,
        technicians=tuple(_technicians(covers_it, amended)),
        cylinders=tuple(_cylinders(refrigerant, on, amended)),
        leaks=tuple(recorded_leaks(appliance)),
    )


def evacuation_hint(background: EventBackground) -> EvacuationLevel | None:
    """The level to evacuate to before the circuit is opened, where table 1 of 40 CFR 82.156(a) is meant for it.

    A small appliance has a rule of its own (40 CFR 82.156(b)).
    """
    appliance = background.appliance
    if appliance.site.jurisdiction not in (Jurisdiction.US_FEDERAL, Jurisdiction.US_CALIFORNIA):
        return None
    if appliance.is_hermetically_sealed:
        return None
    return required_evacuation(background.refrigerant, full_charge_mg=background.full_charge_mg)


def _technicians(covers_it: CoversIt, amended: ServiceEvent | None) -> list[TechnicianOption]:
    wanted = Q(is_active=True)
    if amended:
        wanted |= Q(pk__in=[pk for pk in (amended.technician_id, amended.supervisor_id) if pk])
    people = Technician.objects.filter(wanted).prefetch_related("certifications")
    return [TechnicianOption(person, _certificate_note(person, covers_it)) for person in people]


def _certificate_note(person: Technician, covers_it: CoversIt) -> str:
    held = list(person.certifications.all())
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
    wanted = ~Q(place=CylinderPlace.AWAY)
    if amended:
        wanted |= Q(holder__transfers_in__event=amended) | Q(holder__transfers_out__event=amended)
    cylinders = Cylinder.objects.filter(wanted).select_related("holder").distinct()
    contents: dict[int, dict[str, int]] = {}
    for (holder_id, designation), mass_mg in holder_balances().items():
        if mass_mg:
            contents.setdefault(holder_id, {})[designation] = mass_mg
    return [
        CylinderOption(
            cylinder,
            held := contents.get(cylinder.holder.pk, {}),
            fill_room(cylinder, refrigerant.designation, held),
            is_past_requalification=on > (requalification_due_on(cylinder) or on),
        )
        for cylinder in cylinders
    ]
