"""The logs of an event's transfers: their plots, and how the masses on record stand against them."""

import datetime
from dataclasses import dataclass

from django.db.models import QuerySet

from compliance.rulebook.masses import format_mass
from compliance.selectors.event_record import Move
from compliance.selectors.log_days import LoggedVisit
from jobs.models import MassUnit, ServiceEvent, Transfer, WeighLog, WeighLogReading
from jobs.selectors.weigh_plots import WeighPlot, weigh_plot


@dataclass(frozen=True)
class EventLog:
    """One transfer's log as the record shows it.

    ``number`` is the transfer's place among those typed, from 1; ``attached_at`` is in the site's time zone.
    """

    move: Move
    number: int
    log: WeighLog
    plot: WeighPlot | None
    unit: str
    attached_at: datetime.datetime
    visit: LoggedVisit

    @property
    def reading(self) -> WeighLogReading | None:
        return self.plot.reading if self.plot else None

    @property
    def difference(self) -> str:
        """By how much the mass on record is off, in words."""
        off_mg = self.reading.difference_mg if self.reading else 0
        return f"{self._mass(abs(off_mg))} {'more' if off_mg > 0 else 'less'}"

    @property
    def tolerance(self) -> str:
        return self._mass(self.reading.tolerance_mg if self.reading else 0)

    @property
    def uncertainty(self) -> str:
        return self._mass(self.reading.uncertainty_mg if self.reading else 0)

    @property
    def other_day(self) -> str:
        """What to say of a log that was written on another day than the visit's, if it was."""
        return self.visit.other_day(self.reading.figures) if self.reading else ""

    def _mass(self, mass_mg: int) -> str:
        return format_mass(mass_mg, self.unit)

    @property
    def is_beyond(self) -> bool:
        """Whether the mass on record differs from its log by more than weighing explains."""
        return bool(self.reading and self.reading.is_beyond_tolerance)


def event_logs(event: ServiceEvent, moves: list[Move]) -> list[EventLog]:
    """The logs of an event's transfers, in the order typed."""
    unit = mass_unit(event)
    return [
        EventLog(
            move,
            number,
            move.transfer.weigh_log,
            weigh_plot(move.transfer.weigh_log, unit=unit, title=f"{event}, transfer {number}"),
            unit,
            move.transfer.weigh_log.attached_at.astimezone(event.appliance.site.zone),
            logged_visit(event),
        )
        for number, move in enumerate(moves, start=1)
        if hasattr(move.transfer, "weigh_log")
    ]


def without_log(moves: list[Move]) -> list[tuple[int, Transfer]]:
    """The transfers to which a log can still be added, each with its number."""
    return [
        (number, move.transfer)
        for number, move in enumerate(moves, start=1)
        if move.transfer.reverses_id is None and not hasattr(move.transfer, "weigh_log")
    ]


def logged_visit(event: ServiceEvent) -> LoggedVisit:
    """The visit that the logs of an event are held against."""
    return LoggedVisit(event.appliance.site, event.happened_on)


def mass_unit(event: ServiceEvent) -> str:
    """The unit that scales show where the event's site is."""
    return MassUnit.LB if event.appliance.site.country == "US" else MassUnit.KG


def transfers_for_logs() -> QuerySet[Transfer]:
    """Transfers of events, with what the page that adds a log shows of them."""
    return Transfer.objects.filter(event__isnull=False, reverses=None).select_related(
        "event__appliance__site__customer",
        "event__filed_by",
        "from_holder__cylinder",
        "to_holder__cylinder",
        "scale",
        "weigh_log",
    )
