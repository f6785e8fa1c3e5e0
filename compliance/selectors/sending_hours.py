"""When a person is written to: quiet hours and the hour of the digest, by the clock in the person's time zone.

An instant has one reading on that clock, whatever daylight saving does, so it is always certain whether it is quiet.
"""

import datetime
import zoneinfo
from dataclasses import dataclass

from compliance.models import ReminderPreference, ReminderRhythm

HOURS = range(24)
_MINUTE = datetime.timedelta(minutes=1)
_DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class SendingHours:
    """By which clock a person lives, when it is quiet there, and at which hour a digest is due; None for none."""

    zone: zoneinfo.ZoneInfo
    quiet_from: datetime.time | None = None
    quiet_to: datetime.time | None = None
    digest_hour: int | None = None

    def is_quiet(self, at: datetime.datetime) -> bool:
        """Whether an instant falls into the quiet hours; their end doesn't."""
        if self.quiet_from is None or self.quiet_to is None:
            return False
        return falls_between(at.astimezone(self.zone).time(), self.quiet_from, self.quiet_to)

    def quiet_ends_at(self, at: datetime.datetime) -> datetime.datetime:
        """The first instant from ``at`` on that isn't quiet, to the minute."""
        if not self.is_quiet(at):
            return at
        end = at.astimezone(datetime.UTC).replace(second=0, microsecond=0)
        while self.is_quiet(end):
            end += _MINUTE
        return end

    def digest_due_at(self, at: datetime.datetime) -> datetime.datetime | None:
        """The newest instant up to ``at`` at which a digest was due; None without digests.

        An hour that the clock skips is due when it has skipped it, an hour that it shows twice at the first of them,
        and a date that a place skipped has no digest.
        """
        if self.digest_hour is None:
            return None
        today = at.astimezone(self.zone).date()
        return max(due_at for back in range(3) if (due_at := self._digest_on(today - back * _DAY)) <= at)

    def next_digest_at(self, at: datetime.datetime) -> datetime.datetime | None:
        """The first instant after ``at`` at which a digest is due; None without digests."""
        if self.digest_hour is None:
            return None
        today = at.astimezone(self.zone).date()
        return min(due_at for ahead in range(3) if (due_at := self._digest_on(today + ahead * _DAY)) > at)

    def _digest_on(self, day: datetime.date) -> datetime.datetime:
        hour = datetime.time(self.digest_hour or 0)
        return datetime.datetime.combine(day, hour, self.zone).astimezone(datetime.UTC)


def falls_between(clock: datetime.time, start: datetime.time, end: datetime.time) -> bool:
    """Whether a reading of the clock is one from ``start`` until before ``end``, which may be on the next day."""
    if start < end:
        return start <= clock < end
    return clock >= start or clock < end


def sending_hours(preference: ReminderPreference) -> SendingHours:
    """What a person chose."""
    is_digest = preference.rhythm == ReminderRhythm.DIGEST
    return SendingHours(
        zoneinfo.ZoneInfo(preference.time_zone),
        preference.quiet_from,
        preference.quiet_to,
        preference.digest_hour if is_digest else None,
    )


def contact_hours(time_zone: str) -> SendingHours:
    """When a customer's contact is written to, who can't choose: not at night, by the site's clock.

    Common practice, no source.
    """
    return SendingHours(zoneinfo.ZoneInfo(time_zone), datetime.time(20), datetime.time(7))
