"""Registers recovery machines, scales, gauges and leak detectors, and changes them with history."""

import datetime
from decimal import Decimal, InvalidOperation
from typing import Any

from django.db import transaction
from django.utils import timezone

from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.masses import parse_mass_mg
from jobs.models import Instrument, InstrumentKind, InstrumentUnit, RecoveryMachine
from jobs.models.instruments import DETECTOR_UNITS, GAUGE_KINDS, MASS_UNITS
from jobs.services.refusals import Refusals, change_fields, save_register
from portal.accounts.models import User

MACHINE_FIELDS = frozenset(
    {
        "make",
        "model",
        "serial_number",
        "made_on",
        "certified_by",
        "certified_for",
        "kind",
        "is_pump_out_unit",
        "is_in_use",
    }
)
INSTRUMENT_FIELDS = frozenset(
    {
        "kind",
        "make",
        "model",
        "serial_number",
        "division_entered",
        "division_unit",
        "accuracy_entered",
        "accuracy_pct",
        "calibration_interval_months",
        "is_in_use",
    }
)
_GAUGE_UNITS = tuple(unit for unit in InstrumentUnit if unit not in (*MASS_UNITS, *DETECTOR_UNITS))
UNITS = {
    InstrumentKind.SCALE: MASS_UNITS,
    **dict.fromkeys(GAUGE_KINDS, _GAUGE_UNITS),
    InstrumentKind.LEAK_DETECTOR: DETECTOR_UNITS,
}
# They bound typing errors; common practice is a year.
LONGEST_INTERVAL_MONTHS = 60
LARGEST_ACCURACY_PCT = 20


@transaction.atomic
def recovery_machine_register(
    *, by: User, recorded_at: datetime.datetime | None = None, **fields: Any
) -> RecoveryMachine:
    """Register a recovery machine.

    Args:
        by: who registers.
        recorded_at: the instant; now, unless given.
        fields: those of ``MACHINE_FIELDS``.

    Raises:
        SubmissionRefused: a field is not valid, or the serial number is taken.
    """
    return recovery_machine_change(by=by, machine=RecoveryMachine(), recorded_at=recorded_at, **fields)


@transaction.atomic
def recovery_machine_change(
    *, by: User, machine: RecoveryMachine, recorded_at: datetime.datetime | None = None, **fields: Any
) -> RecoveryMachine:
    """Change what is registered of a recovery machine; the former details stay in its history.

    Raises:
        SubmissionRefused: as ``recovery_machine_register``.
    """
    change_fields(machine, fields, MACHINE_FIELDS)
    refusals = Refusals()
    refusals.check_day("made_on", machine.made_on, latest=timezone.localdate(recorded_at))
    if machine.is_pump_out_unit and not machine.is_system_dependent:
        refusals.add(
            "is_pump_out_unit",
            "yes",
            "Expected this of system-dependent equipment alone.",
            "40 CFR 82.156(e)",
        )
    save_register(machine, by=by, refusals=refusals)
    return machine


@transaction.atomic
def instrument_register(*, by: User, **fields: Any) -> Instrument:
    """Register a scale, a gauge or a leak detector; its calibrations are recorded one by one afterwards.

    Args:
        by: who registers.
        fields: those of ``INSTRUMENT_FIELDS``; ``division_entered`` and ``accuracy_entered`` as typed, both in
            ``division_unit``.

    Raises:
        SubmissionRefused: a field is not valid, the unit isn't one of its kind, or the serial number is taken.
    """
    return instrument_change(by=by, instrument=Instrument(), **fields)


@transaction.atomic
def instrument_change(*, by: User, instrument: Instrument, **fields: Any) -> Instrument:
    """Change what is registered of a scale, a gauge or a detector; the former details stay in its history.

    Raises:
        SubmissionRefused: as ``instrument_register``, or the kind of one that records name is changed.
    """
    kind_before = Instrument.objects.filter(pk=instrument.pk).values_list("kind", flat=True).first()
    change_fields(instrument, fields, INSTRUMENT_FIELDS)
    refusals = Refusals()
    if kind_before not in (None, instrument.kind) and (
        instrument.transfers.exists() or instrument.service_events.exists()
    ):
        expected = "Records name it as what it is: expected its kind to stay."
        refusals.add("kind", instrument.get_kind_display(), expected)
    _set_figures(instrument, refusals)
    _check_interval(instrument, refusals)
    save_register(instrument, by=by, refusals=refusals)
    return instrument


def _set_figures(instrument: Instrument, refusals: Refusals) -> None:
    """Read division and accuracy; a scale's stand in milligrams too."""
    is_scale = instrument.kind == InstrumentKind.SCALE
    unit = instrument.division_unit
    units = UNITS.get(InstrumentKind(instrument.kind), ()) if instrument.kind in InstrumentKind.values else ()
    if units and unit in InstrumentUnit.values and unit not in units:
        *most, last = [str(one.label) for one in units]
        refusals.add("division_unit", unit, f"Expected {', '.join(most)} or {last}.")
        return
    division = _figure(refusals, "division_entered", instrument.division_entered)
    accuracy = None
    if instrument.accuracy_entered.strip():
        accuracy = _figure(refusals, "accuracy_entered", instrument.accuracy_entered)
    pct = instrument.accuracy_pct
    if pct is not None and not 0 < pct <= LARGEST_ACCURACY_PCT:
        refusals.add("accuracy_pct", pct, f"Expected a share above 0 and up to {LARGEST_ACCURACY_PCT} %.")
    instrument.division_mg = _milligrams(refusals, "division_entered", division, unit) if is_scale else None
    instrument.accuracy_mg = _milligrams(refusals, "accuracy_entered", accuracy, unit) if is_scale else None


def _figure(refusals: Refusals, field: str, typed: str) -> Decimal | None:
    try:
        figure = Decimal(typed.strip())
    except InvalidOperation:
        figure = Decimal(0)
    if figure.is_finite() and figure > 0:
        return figure
    refusals.add(field, typed, "Expected a figure above zero, such as 2 or 0.1.")
    return None


def _milligrams(refusals: Refusals, field: str, figure: Decimal | None, unit: str) -> int | None:
    """Whole milligrams of a mass; notes a refusal where it comes to none, or is beyond any scale."""
    if figure is None or unit not in MASS_UNITS:
        return None
    try:
        mass_mg = parse_mass_mg(f"{figure:f}", unit)
    except InvalidInput as problem:
        refusals.add(field, figure, f"Expected {problem.expected}.")
        return None
    if mass_mg <= 0:
        refusals.add(field, figure, "Expected a milligram at least.")
        return None
    return mass_mg


def _check_interval(instrument: Instrument, refusals: Refusals) -> None:
    months = instrument.calibration_interval_months
    if months is not None and not 1 <= months <= LONGEST_INTERVAL_MONTHS:
        expected = f"Expected from 1 to {LONGEST_INTERVAL_MONTHS} months."
        refusals.add("calibration_interval_months", months, expected)
