"""The days on which a log was written, as a person at the scale would call them."""

from datetime import date, datetime, tzinfo

from jobs.weighing.log import TimeKind


def days_of(time_kind: TimeKind, first: str, last: str, zone: tzinfo) -> tuple[date, date] | None:
    """The first and the last day of a log.

    Args:
        time_kind: of its times.
        first: the time of its first reading as the file has it.
        last: of its last reading.
        zone: where the scale stood; a time with a zone of its own is turned into it, one without is the scale's own.

    Returns:
        Both days, the earlier first; ``None`` where the file has no dates.

    Example:
        >>> from datetime import timedelta, timezone
        >>> central = timezone(timedelta(hours=-6))
        >>> [str(day) for day in days_of("instant", "2026-03-03T02:10:00Z", "2026-03-03T06:30:00Z", central)]
        ['2026-03-02', '2026-03-03']
    """
    if time_kind != "instant":
        return None
    days = sorted(_day(datetime.fromisoformat(text), zone) for text in (first, last))
    return days[0], days[1]


def _day(instant: datetime, zone: tzinfo) -> date:
    return instant.date() if instant.tzinfo is None else instant.astimezone(zone).date()
