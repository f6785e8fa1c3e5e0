"""What a service event was done with, and what the officer should look at: levels not reached, calibrations run out."""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass

from compliance.rulebook.masses import format_mass
from compliance.selectors.opening import Opening, OpeningAdvice, opening_advice
from jobs.models import ServiceEvent, WorkOrigin
from jobs.selectors.appliances import Charge
from jobs.selectors.cylinders import FILLING_RULE, fill_limit_mg
from jobs.selectors.european_scope import event_shortfall
from jobs.selectors.instruments import InstrumentOnDay, calibration_on
from jobs.selectors.technicians import SCHEMES

PERCENT = 100


@dataclass(frozen=True)
class Caution:
    """One thing for the officer to look at; a record with cautions stands all the same."""

    text: str
    citation: str = ""
    is_confirmed: bool = True


def used_instruments(
    event: ServiceEvent, *, known_at: datetime.datetime | None = None
) -> list[InstrumentOnDay]:
    """The scales and the gauge that an event names, each once, the scales in the order of its transfers.

    Args:
        event: the record.
        known_at: calibrations as the records stood at this instant; now unless given.
    """
    named = [row.scale for row in event.transfers.all() if row.reverses_id is None and row.scale]
    once = dict.fromkeys([*named, *([event.gauge] if event.gauge else [])])
    return [
        InstrumentOnDay(
            instrument, calibration_on(instrument, event.happened_on, known_at=known_at), event.happened_on
        )
        for instrument in once
    ]


def event_opening(event: ServiceEvent, charge: Charge) -> OpeningAdvice | None:
    """What the law asked for before the opening that an event tells of; None if there was none of ours.

    Args:
        event: the record.
        charge: in force on its day.
    """
    if event.origin != WorkOrigin.OWN or not (event.is_circuit_opened or event.recovery_machine):
        return None
    opening = Opening(
        kind=event.opening_kind,
        machine=event.recovery_machine,
        is_compressor_running=event.is_compressor_running,
        reading=event.final_vacuum,
        reading_unit=event.final_vacuum_unit,
    )
    return opening_advice(event.appliance, charge, opening, on=event.happened_on)


def event_cautions(
    event: ServiceEvent, charge: Charge, advice: OpeningAdvice | None, instruments: list[InstrumentOnDay]
) -> list[Caution]:
    """What the officer should look at in a record.

    Args:
        event: the record, with its transfers.
        charge: in force on its day.
        advice: from ``event_opening``.
        instruments: from ``used_instruments``.
    """
    found = [*_calibrations(instruments), *_unlimited_fills(event)]
    if advice is not None:
        found += [
            Caution(f"{event.recovery_machine}: {row.because}", row.citation, row.is_confirmed)
            for row in advice.findings
        ]
        if event.is_circuit_opened:
            found += _level(event, charge, advice)
    return found


def _calibrations(instruments: list[InstrumentOnDay]) -> Iterator[Caution]:
    for used in instruments:
        if used.calibration is None:
            yield Caution(f"{used.instrument} had no calibration on record on {used.day}.")
        elif not used.is_calibrated:
            yield Caution(
                f"The calibration of {used.instrument} had run out on {used.calibration.due_on}, "
                f"before the visit of {used.day}."
            )


def _unlimited_fills(event: ServiceEvent) -> Iterator[Caution]:
    """What went into a cylinder of which the portal can't say how much it may hold."""
    for row in event.transfers.all():
        cylinder = row.to_holder.cylinder
        if row.reverses_id is None and cylinder and fill_limit_mg(cylinder, row.refrigerant) is None:
            yield Caution(
                f"{format_mass(row.mass_mg)} of {row.refrigerant} went into {cylinder}, for which no fill limit is "
                "known here. Hold its weight against its own markings and the supplier's word: an overfilled cylinder "
                "can burst.",
                FILLING_RULE,
            )


def _level(event: ServiceEvent, charge: Charge, advice: OpeningAdvice) -> Iterator[Caution]:
    asked = advice.requirement
    if asked.level is None or advice.is_reached:
        return
    kind = "" if event.opening_kind else " No reason for the opening is recorded, so it counts as major."
    if asked.recovery_pct is not None:
        recovered_mg = sum(
            row.mass_mg
            for row in event.transfers.all()
            if row.reverses_id is None and row.from_holder.appliance_id == event.appliance_id
        )
        if recovered_mg * PERCENT >= asked.recovery_pct * charge.full_charge_mg:
            return
        text = (
            f"{format_mass(recovered_mg)} were recovered from a full charge of {format_mass(charge.full_charge_mg)}, "
            f"and no reading reaches {asked.level.in_words}; {asked.in_words} is asked for. "
            "It may have held less than its full charge."
        )
    elif event.final_vacuum is None:
        text = f"No reading is recorded; {asked.in_words} is asked for before opening."
    else:
        reading = f"{event.final_vacuum.normalize():f} {event.get_final_vacuum_unit_display()}"
        text = f"The reading of {reading} doesn't reach what is asked for before opening: {asked.in_words}."
        if advice.reading and advice.altitude_m:
            text += f" A gauge at the site shows {advice.reading.inhg_vacuum} in Hg of vacuum for it."
    yield Caution(text + kind, asked.citation, asked.is_confirmed)


def certificate_cautions(event: ServiceEvent, charge: Charge) -> list[Caution]:
    """What is to be looked at where no certificate of Europe or Great Britain on record covers the work.

    Args:
        event: the record, with its people and transfers.
        charge: in force on its day.
    """
    if event.origin != WorkOrigin.OWN or event.appliance.site.jurisdiction not in SCHEMES:
        return []
    shortfall = event_shortfall(event, charge)
    return [Caution(shortfall.because, shortfall.citation, shortfall.is_binding)] if shortfall else []
