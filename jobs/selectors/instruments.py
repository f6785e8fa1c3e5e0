"""Recovery machines, scales, gauges and leak detectors, and the calibration under which one was used on a day."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import F, OuterRef, Prefetch, Q, QuerySet, Subquery

from jobs.models import Calibration, Instrument, InstrumentKind, RecoveryMachine

# Calibrations that count: neither corrected by a later record nor void.
STANDING_CALIBRATION = Q(superseded_by=None, is_void=False)
# Long enough before the day to send an instrument in.
CALIBRATION_SOON = datetime.timedelta(days=30)


@dataclass(frozen=True)
class InstrumentOnDay:
    """An instrument with the calibration under which it is, or was, on a day; None if it had none by then."""

    instrument: Instrument
    calibration: Calibration | None
    day: datetime.date

    @property
    def is_calibrated(self) -> bool:
        """Whether the calibration still held on the day."""
        return self.calibration is not None and self.calibration.holds_on(self.day)


def recovery_machine_list(*, search: str = "") -> QuerySet[RecoveryMachine]:
    """List recovery machines; those out of use come last.

    Args:
        search: part of a make, model, serial number or certifying body; all unless given.
    """
    machines = RecoveryMachine.objects.all()
    if search := search.strip():
        machines = machines.filter(
            Q(make__icontains=search)
            | Q(model__icontains=search)
            | Q(serial_number__icontains=search)
            | Q(certified_by__icontains=search)
        )
    return machines.order_by("-is_in_use", "make", "model", "serial_number")


def instrument_list(*, search: str = "", kind: str = "") -> QuerySet[Instrument]:
    """List instruments with ``due_on``, the last day of the newest calibration; those out of use come last.

    Args:
        search: part of a make, model, serial number or certificate number; all unless given.
        kind: of this kind alone; of all unless given.
    """
    newest = Calibration.objects.filter(STANDING_CALIBRATION, instrument=OuterRef("pk"))
    instruments = Instrument.objects.annotate(
        due_on=Subquery(newest.order_by("-calibrated_on", "-pk").values("due_on")[:1])
    )
    if kind in InstrumentKind.values:
        instruments = instruments.filter(kind=kind)
    if search := search.strip():
        wanted = (
            Q(make__icontains=search)
            | Q(model__icontains=search)
            | Q(serial_number__icontains=search)
            | Q(calibrations__certificate_number__icontains=search)
        )
        instruments = instruments.filter(pk__in=Instrument.objects.filter(wanted).values("pk"))
    return instruments.order_by("-is_in_use", F("kind").desc(), "serial_number")


def with_calibrations(instruments: QuerySet[Instrument]) -> QuerySet[Instrument]:
    """Fetch the standing calibrations along, newest first, as ``standing_calibrations``."""
    rows = Calibration.objects.filter(STANDING_CALIBRATION).order_by("-calibrated_on", "-pk")
    return instruments.prefetch_related(Prefetch("calibrations", rows, to_attr="standing_calibrations"))


def calibration_on(
    instrument: Instrument, day: datetime.date, *, known_at: datetime.datetime | None = None
) -> Calibration | None:
    """The calibration under which the instrument was on a day: the last one before it, run out or not.

    Args:
        instrument: the scale, gauge or detector.
        day: the day of use.
        known_at: as the records stood at this instant; now unless given.

    Returns:
        None if none was done by then.
    """
    if known_at is not None:
        uncorrected = Q(superseded_by=None) | Q(superseded_by__recorded_at__gt=known_at)
        known = instrument.calibrations.filter(uncorrected, is_void=False, recorded_at__lte=known_at)
        return known.filter(calibrated_on__lte=day).order_by("-calibrated_on", "-pk").first()
    rows: Iterable[Calibration] | None = getattr(instrument, "standing_calibrations", None)
    if rows is None:
        rows = instrument.calibrations.filter(STANDING_CALIBRATION).order_by("-calibrated_on", "-pk")
    return next((row for row in rows if row.calibrated_on <= day), None)


def instrument_calibrations(instrument: Instrument) -> QuerySet[Calibration]:
    """An instrument's calibrations with their corrections, newest first, what was corrected below what corrects it."""
    return instrument.calibrations.select_related("superseded_by", "recorded_by").order_by(
        "-calibrated_on", "-pk"
    )


def calibration_status(due_on: datetime.date | None, *, today: datetime.date) -> str:
    """Say in a status word how an instrument's calibration stands."""
    if due_on is None:
        return ""
    if today > due_on:
        return "overdue"
    return "due_soon" if today >= due_on - CALIBRATION_SOON else "met"
