"""The instruments that an event form offers, with what is known of their calibration, and those a technician uses."""

import datetime
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from jobs.models import (
    Instrument,
    InstrumentKind,
    RecoveryMachine,
    ServiceEvent,
    Technician,
    Transfer,
)
from jobs.models.instruments import GAUGE_KINDS
from jobs.selectors.events import OF_STANDING_EVENT, STANDING
from jobs.selectors.instruments import InstrumentOnDay, calibration_on, with_calibrations


@dataclass(frozen=True)
class UsualInstruments:
    """What the technician named on the last events: keys of a machine, a gauge and a scale."""

    machine_id: int | None = None
    gauge_id: int | None = None
    scale_id: int | None = None


def machine_options(amended: ServiceEvent | None) -> list[RecoveryMachine]:
    """Recovery machines in use, and the one that an amended event names."""
    wanted = Q(is_in_use=True)
    if amended and amended.recovery_machine_id:
        wanted |= Q(pk=amended.recovery_machine_id)
    return list(RecoveryMachine.objects.filter(wanted))


def scale_options(on: datetime.date, amended: ServiceEvent | None) -> list[InstrumentOnDay]:
    """Scales in use, and those that an amended event names."""
    named = amended.transfers.values_list("scale_id", flat=True) if amended else ()
    return _options(Instrument.objects.filter(kind=InstrumentKind.SCALE), on, [pk for pk in named if pk])


def gauge_options(on: datetime.date, amended: ServiceEvent | None) -> list[InstrumentOnDay]:
    """Gauges in use, and the one that an amended event names."""
    named = [amended.gauge_id] if amended and amended.gauge_id else []
    return _options(Instrument.objects.filter(kind__in=GAUGE_KINDS), on, named)


def usual_instruments(technician: Technician | None) -> UsualInstruments:
    """What the technician's last event named of each; nothing for whoever filed none."""
    if technician is None:
        return UsualInstruments()
    events = ServiceEvent.objects.filter(STANDING, technician=technician).order_by("-happened_on", "-pk")
    transfers = Transfer.objects.filter(
        OF_STANDING_EVENT, event__technician=technician, reverses=None, scale__is_in_use=True
    )
    last = transfers.order_by("-happened_on", "-pk").values_list("scale_id", flat=True)
    return UsualInstruments(
        machine_id=events.filter(recovery_machine__is_in_use=True)
        .values_list("recovery_machine_id", flat=True)
        .first(),
        gauge_id=events.filter(gauge__is_in_use=True).values_list("gauge_id", flat=True).first(),
        scale_id=last.first(),
    )


def _options(instruments: QuerySet[Instrument], on: datetime.date, named: list[int]) -> list[InstrumentOnDay]:
    offered = instruments.filter(Q(is_in_use=True) | Q(pk__in=named))
    return [
        InstrumentOnDay(instrument, calibration_on(instrument, on), on)
        for instrument in with_calibrations(offered)
    ]
