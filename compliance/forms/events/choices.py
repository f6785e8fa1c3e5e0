"""What the event forms offer to choose from: people, cylinders and leaks, each with what helps to choose it."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from compliance.rulebook.masses import format_mass
from compliance.selectors.event_form import CylinderOption, EventBackground, TechnicianOption
from compliance.selectors.recorded_leaks import LeakOption
from jobs.models import MassUnit, RecoveryMachine
from jobs.selectors.instruments import InstrumentOnDay
from jobs.services.log_uploads import LogShelf

Choices = list[tuple[str, Any]]

NEW_LEAK = "new-"
FOUND_TODAY = "Found on this visit"
ON_RECORD = "On record"


@dataclass(frozen=True)
class EventChoices:
    """The background of the form as choices, made once and shared by all its rows.

    ``new_leak_count`` is the number of rows in which a leak found on this visit may stand. ``shelf`` holds the logs
    that rows may name; ``refused_files`` tells by the box's name why a file was not kept; ``happened_on`` is the day of
    the visit as its box says, if it says one.
    """

    background: EventBackground
    new_leak_count: int
    happened_on: datetime.date | None = None
    shelf: LogShelf | None = None
    refused_files: Mapping[str, str] = field(default_factory=dict)

    @property
    def mass_unit(self) -> str:
        """The unit that scales show where the site is."""
        return MassUnit.LB if self.background.appliance.site.country == "US" else MassUnit.KG

    @property
    def technicians(self) -> Choices:
        return [
            (str(option.technician.pk), _technician_label(option)) for option in self.background.technicians
        ]

    @property
    def supervisors(self) -> Choices:
        return [
            (str(option.technician.pk), _technician_label(option))
            for option in self.background.technicians
            if not option.technician.is_apprentice
        ]

    @property
    def technician_data(self) -> dict[str, dict[str, str]]:
        return {
            str(option.technician.pk): {"data-apprentice": "yes"}
            for option in self.background.technicians
            if option.technician.is_apprentice
        }

    @property
    def cylinders(self) -> Choices:
        own, empty, others = [], [], []
        for option in self.background.cylinders:
            choice = (str(option.cylinder.pk), _cylinder_label(option))
            if self.background.refrigerant.designation in option.contents_mg and len(option.contents_mg) == 1:
                own.append(choice)
            elif option.contents_mg or option.cylinder.refrigerant not in (
                "",
                self.background.refrigerant.designation,
            ):
                others.append(choice)
            else:
                empty.append(choice)
        groups = (
            (f"Holding {self.background.refrigerant}", own),
            ("Empty", empty),
            ("For another refrigerant", others),
        )
        return [(label, choices) for label, choices in groups if choices]

    @property
    def cylinder_data(self) -> dict[str, dict[str, str]]:
        return {
            str(option.cylinder.pk): {
                "data-holds-mg": str(sum(option.contents_mg.values())),
                "data-room-mg": "" if option.room_mg is None else str(option.room_mg),
                "data-serial": option.cylinder.serial_number,
                "data-disposable": "yes" if option.is_disposable else "",
            }
            for option in self.background.cylinders
        }

    @property
    def recorded_leaks(self) -> Choices:
        return [(str(option.leak.pk), leak_label(option)) for option in self.background.leaks]

    @property
    def leak_data(self) -> dict[str, dict[str, str]]:
        return {
            str(option.leak.pk): {"data-part": option.part, "data-location": option.location}
            for option in self.background.leaks
        }

    @property
    def leaks(self) -> Choices:
        found = [(f"{NEW_LEAK}{row}", f"New leak {row}") for row in range(1, self.new_leak_count + 1)]
        groups = ((FOUND_TODAY, found), (ON_RECORD, self.recorded_leaks))
        return [(label, choices) for label, choices in groups if choices]

    @property
    def scales(self) -> Choices:
        return _instruments(self.background.scales)

    @property
    def gauges(self) -> Choices:
        return _instruments(self.background.gauges)

    def scale(self, value: str) -> Any:
        """The scale whose option was chosen."""
        return next(o.instrument for o in self.background.scales if str(o.instrument.pk) == value)

    def gauge(self, value: str) -> Any:
        """The gauge whose option was chosen."""
        return next(o.instrument for o in self.background.gauges if str(o.instrument.pk) == value)

    def technician(self, value: str) -> Any:
        """The technician whose option was chosen."""
        return next(o.technician for o in self.background.technicians if str(o.technician.pk) == value)

    def cylinder(self, value: str) -> Any:
        """The cylinder whose option was chosen."""
        return next(o.cylinder for o in self.background.cylinders if str(o.cylinder.pk) == value)

    def leak(self, value: str) -> Any:
        """The leak on record whose option was chosen, or the form's own name of one found on this visit."""
        if value.startswith(NEW_LEAK):
            return value
        return next(o.leak for o in self.background.leaks if str(o.leak.pk) == value)


def leak_label(option: LeakOption) -> str:
    """A leak as people tell it from others: number, part, place, and whether it is done with."""
    return f"{option.leak}: {option.part}, {option.location}{' (verified)' if option.is_verified else ''}"


def machine_label(machine: RecoveryMachine) -> str:
    """A machine with the day it was made, which decides the evacuation level."""
    parts = [str(machine), f"made {machine.made_on:%Y-%m}"]
    if machine.is_system_dependent:
        parts.append("system-dependent")
    if not machine.certified_by:
        parts.append("no certification on record")
    return " · ".join(parts)


def _instruments(options: tuple[InstrumentOnDay, ...]) -> Choices:
    """Those in calibration first; the others say what is the matter."""
    fit = [_instrument_choice(option) for option in options if option.is_calibrated]
    others = [_instrument_choice(option) for option in options if not option.is_calibrated]
    groups = (("Calibrated", fit), ("Not in calibration", others))
    return [(label, choices) for label, choices in groups if choices]


def _instrument_choice(option: InstrumentOnDay) -> tuple[str, str]:
    instrument = option.instrument
    parts = [f"{instrument.make} {instrument.serial_number}", f"{instrument.division} divisions"]
    if option.calibration is None:
        parts.append("never calibrated")
    elif not option.is_calibrated:
        parts.append(f"calibration ran out {option.calibration.due_on}")
    return str(instrument.pk), " · ".join(parts)


def _technician_label(option: TechnicianOption) -> str:
    return f"{option.technician} – {option.note}" if option.note else str(option.technician)


def _cylinder_label(option: CylinderOption) -> str:
    parts = [option.cylinder.serial_number, option.cylinder.place_note or option.cylinder.get_place_display()]
    if option.contents_mg:
        parts += [f"holds {format_mass(mass_mg)} {name}" for name, mass_mg in option.contents_mg.items()]
    else:
        parts.append(f"empty, for {option.cylinder.refrigerant}" if option.cylinder.refrigerant else "empty")
    if option.is_disposable:
        parts.append("never to be filled")
    elif option.is_condemned:
        parts.append("condemned, not to be filled")
    elif option.is_past_requalification:
        parts.append("past requalification, not to be filled")
    elif option.room_mg:
        parts.append(f"room for {format_mass(option.room_mg)}")
    elif option.room_mg is None:
        parts.append("no limit known, its markings govern")
    return " · ".join(parts)
