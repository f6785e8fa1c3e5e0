"""Whether a scale's log is of the day of the visit that it is to prove."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from jobs.models import Site
from jobs.weighing.days import days_of


@dataclass(frozen=True)
class LoggedVisit:
    """The visit that a log is held against: where it was, and on which day, as far as that is known."""

    site: Site
    on: datetime.date | None

    def other_day(self, figures: Mapping[str, Any]) -> str:
        """What to say of a log that was written on another day; nothing where its day fits or isn't known.

        Args:
            figures: of the log's reading.
        """
        days = days_of(figures["time_kind"], figures["starts_at"], figures["ends_at"], self.site.zone)
        if days is None or self.on is None or days[0] <= self.on <= days[1]:
            return ""
        first, last = days
        written = f"on {first}" if first == last else f"from {first} to {last}"
        return (
            f"The log was written {written}, the visit was on {self.on}. "
            "Is it the log of this visit, and is the clock of the scale right?"
        )
