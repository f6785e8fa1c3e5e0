"""The days of a log, as the calendar at the scale has them."""

from datetime import date
from zoneinfo import ZoneInfo

import pytest

from jobs.weighing.days import days_of

CHICAGO, BERLIN = ZoneInfo("America/Chicago"), ZoneInfo("Europe/Berlin")


@pytest.mark.parametrize(
    ("first", "last", "zone", "days"),
    [
        ("2026-03-02T14:05:00", "2026-03-02T14:19:00", CHICAGO, (2, 2)),
        # A clock without a zone is the scale's own, wherever it stands.
        ("2026-03-02T23:50:00", "2026-03-03T00:10:00", BERLIN, (2, 3)),
        # Six hours behind in winter: 05:59 and 06:00 of the universal day.
        ("2026-03-03T05:59:00Z", "2026-03-03T05:59:59Z", CHICAGO, (2, 2)),
        ("2026-03-03T06:00:00Z", "2026-03-03T06:10:00Z", CHICAGO, (3, 3)),
        ("2026-03-02T23:30:00+00:00", "2026-03-02T23:40:00+00:00", BERLIN, (3, 3)),
        # The clock was put back over midnight.
        ("2026-03-03T00:05:00", "2026-03-02T23:30:00", CHICAGO, (2, 3)),
    ],
)
def test_days_are_those_at_the_scale(first, last, zone, days):
    assert days_of("instant", first, last, zone) == tuple(date(2026, 3, day) for day in days)


@pytest.mark.parametrize(
    ("kind", "first", "last"), [("clock", "14:05:00", "14:19:00"), ("elapsed", "0", "840")]
)
def test_a_log_without_dates_has_no_day(kind, first, last):
    assert days_of(kind, first, last, CHICAGO) is None
