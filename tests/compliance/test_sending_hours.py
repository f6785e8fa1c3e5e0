"""Quiet hours and the hour of the digest by the clock in a person's time zone.

Transitions and the date that Samoa skipped: IANA time zone database (files northamerica, europe, australasia).
"""

import datetime
import zoneinfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.selectors.sending_hours import SendingHours, contact_hours, falls_between

MINUTE = datetime.timedelta(minutes=1)
HOUR = datetime.timedelta(hours=1)
# Both hemispheres, half and quarter hours, both edges of the date line, and places without daylight saving.
ZONES = (
    *("America/Chicago", "America/St_Johns", "America/Nuuk", "Europe/Berlin", "Europe/London"),
    *("Australia/Lord_Howe", "Asia/Kathmandu", "Asia/Kolkata", "Pacific/Chatham", "Pacific/Honolulu"),
    *("Pacific/Apia", "Pacific/Kiritimati", "Pacific/Pago_Pago", "UTC"),
)
# Around the transitions of both hemispheres, a leap day, and the end of 2011 at the date line.
STARTS = (
    *("2026-03-06", "2026-03-27", "2026-04-03", "2026-10-02", "2026-10-23", "2026-10-30"),
    *("2028-02-27", "2011-12-28"),
)
INSTANTS = st.builds(
    lambda start, minutes: datetime.datetime.fromisoformat(f"{start}T00:00Z") + minutes * MINUTE,
    st.sampled_from(STARTS),
    st.integers(0, 4 * 24 * 60),
)
CLOCKS = st.builds(datetime.time, st.integers(0, 23), st.sampled_from((0, 15, 30, 59)))


@st.composite
def quiet(draw):
    start, end = draw(st.lists(CLOCKS, min_size=2, max_size=2, unique=True))
    return SendingHours(zoneinfo.ZoneInfo(draw(st.sampled_from(ZONES))), start, end)


@given(hours=quiet(), at=INSTANTS)
def test_quiet_hours_end_at_the_first_minute_that_isnt_quiet(hours, at):
    end = hours.quiet_ends_at(at)

    assert end >= at or not hours.is_quiet(at)
    assert not hours.is_quiet(end)
    minute = at.replace(second=0, microsecond=0)
    while minute < end:
        assert hours.is_quiet(minute) or minute < at
        minute += 7 * MINUTE


@given(hours=quiet(), at=INSTANTS)
def test_quiet_is_what_the_clock_on_the_wall_says(hours, at):
    clock = at.astimezone(hours.zone).time()
    # Counted minute by minute from the beginning of the quiet hours around the clock.
    length = (_minutes(hours.quiet_to) - _minutes(hours.quiet_from)) % 1440

    assert hours.is_quiet(at) is ((_minutes(clock) - _minutes(hours.quiet_from)) % 1440 < length)


def _minutes(clock):
    return clock.hour * 60 + clock.minute


def _local(zone, *reading, fold=0):
    return datetime.datetime(*reading, tzinfo=zoneinfo.ZoneInfo(zone), fold=fold)


@pytest.mark.parametrize(
    ("zone", "quiet_to", "at", "ends"),
    [
        # 8 March 2026: 02:00 becomes 03:00 in Chicago. The quiet hours' end is skipped: at 03:00 they are over.
        ("America/Chicago", "02:30", (2026, 3, 7, 23, 0), "2026-03-08T08:00:00+00:00"),
        ("America/Chicago", "06:00", (2026, 3, 7, 23, 0), "2026-03-08T11:00:00+00:00"),
        # 1 November 2026: 02:00 becomes 01:00 again.
        ("America/Chicago", "06:00", (2026, 10, 31, 23, 0), "2026-11-01T12:00:00+00:00"),
        # 29 March 2026 in Berlin; the evening before is winter time.
        ("Europe/Berlin", "07:00", (2026, 3, 28, 22, 0), "2026-03-29T05:00:00+00:00"),
        # Half an hour's daylight saving.
        ("Australia/Lord_Howe", "06:00", (2026, 10, 3, 23, 0), "2026-10-03T19:00:00+00:00"),
        # Samoa skipped 30 December 2011: after the 29th came the 31st.
        ("Pacific/Apia", "06:00", (2011, 12, 29, 23, 0), "2011-12-30T16:00:00+00:00"),
        # 25 hours apart, one strait: the same evening on two dates.
        ("Pacific/Kiritimati", "06:00", (2026, 7, 2, 22, 0), "2026-07-02T16:00:00+00:00"),
        ("Pacific/Pago_Pago", "06:00", (2026, 7, 1, 22, 0), "2026-07-02T17:00:00+00:00"),
        ("Europe/London", "06:00", (2028, 2, 28, 23, 0), "2028-02-29T06:00:00+00:00"),
    ],
)
def test_the_end_of_a_night(zone, quiet_to, at, ends):
    hours = SendingHours(zoneinfo.ZoneInfo(zone), datetime.time(22), datetime.time.fromisoformat(quiet_to))

    assert hours.quiet_ends_at(_local(zone, *at)) == datetime.datetime.fromisoformat(ends)


def test_an_hour_that_comes_twice_is_quiet_twice():
    hours = SendingHours(zoneinfo.ZoneInfo("America/Chicago"), datetime.time(0, 30), datetime.time(1, 30))

    readings = [
        (1, 15, 0, True),
        (1, 45, 0, False),
        (1, 15, 1, True),
        (1, 45, 1, False),
    ]
    for hour, minute, fold, is_quiet in readings:
        assert hours.is_quiet(_local("America/Chicago", 2026, 11, 1, hour, minute, fold=fold)) is is_quiet


def test_both_sides_of_the_quiet_hours():
    night = (datetime.time(22), datetime.time(6))

    readings = ("21:59", "22:00", "23:59", "00:00", "05:59", "06:00")
    inside = [falls_between(datetime.time.fromisoformat(reading), *night) for reading in readings]
    assert inside == [False, True, True, True, True, False]


def test_nothing_is_quiet_without_quiet_hours():
    hours = SendingHours(zoneinfo.ZoneInfo("UTC"))
    at = datetime.datetime(2026, 3, 8, 3, tzinfo=datetime.UTC)

    assert not hours.is_quiet(at)
    assert hours.quiet_ends_at(at) == at
    assert (hours.digest_due_at(at), hours.next_digest_at(at)) == (None, None)


def test_a_contact_is_left_alone_in_the_evening_and_at_night_by_the_sites_clock():
    hours = contact_hours("Pacific/Honolulu")

    assert hours.is_quiet(_local("Pacific/Honolulu", 2026, 3, 1, 20, 0))
    assert hours.is_quiet(_local("Pacific/Honolulu", 2026, 3, 1, 6, 59))
    assert not hours.is_quiet(_local("Pacific/Honolulu", 2026, 3, 1, 7, 0))


DIGESTS = st.builds(
    SendingHours,
    st.sampled_from(ZONES).map(zoneinfo.ZoneInfo),
    st.none(),
    st.none(),
    st.integers(0, 23),
)


@given(hours=DIGESTS, at=INSTANTS)
def test_the_newest_digest_is_due_before_and_the_next_after(hours, at):
    due_at, next_at = hours.digest_due_at(at), hours.next_digest_at(at)

    assert due_at <= at < next_at
    assert hours.next_digest_at(due_at) == next_at
    assert hours.digest_due_at(next_at) == next_at
    # A day lasts from 22 to 26 hours where clocks are moved.
    assert 22 * HOUR <= next_at - due_at <= 26 * HOUR


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("hour", [2, 23])
@pytest.mark.parametrize("start_on", [datetime.date(2011, 12, 1), datetime.date(2028, 1, 1)])
def test_every_date_has_one_digest_and_a_date_that_was_skipped_none(zone, hour, start_on):
    hours = SendingHours(zoneinfo.ZoneInfo(zone), digest_hour=hour)
    start = datetime.datetime.combine(start_on, datetime.time(12), hours.zone).astimezone(datetime.UTC)

    instants = [start + number * 6 * HOUR for number in range(370 * 4)]
    due = sorted({hours.digest_due_at(at) for at in instants})[1:-1]
    dates = [at.astimezone(hours.zone).date() for at in due]
    first, last = dates[0], dates[-1]
    lived = {at.astimezone(hours.zone).date() for at in instants}
    assert len(due) == sum(first <= date <= last for date in lived)
    # Where the hour itself was skipped, as in Nuuk late on a Saturday in March, the digest comes at once after it.
    assert all(at.astimezone(hours.zone).hour in (hour, (hour + 1) % 24) for at in due)


@pytest.mark.parametrize(
    ("zone", "hour", "on", "due"),
    [
        ("America/Chicago", 2, (2026, 3, 8), "2026-03-08T08:00:00+00:00"),  # 02:00 is skipped: at 03:00
        ("America/Chicago", 1, (2026, 11, 1), "2026-11-01T06:00:00+00:00"),  # 01:00 comes twice: the first
        (
            "America/Nuuk",
            23,
            (2026, 3, 28),
            "2026-03-29T01:00:00+00:00",
        ),  # 23:00 becomes the next day's 00:00
        ("Pacific/Kiritimati", 7, (2026, 7, 2), "2026-07-01T17:00:00+00:00"),
        ("Pacific/Pago_Pago", 7, (2026, 7, 2), "2026-07-02T18:00:00+00:00"),
        ("Europe/London", 7, (2028, 2, 29), "2028-02-29T07:00:00+00:00"),
    ],
)
def test_the_instant_of_a_digest(zone, hour, on, due):
    hours = SendingHours(zoneinfo.ZoneInfo(zone), digest_hour=hour)
    due_at = datetime.datetime.fromisoformat(due)

    assert hours.digest_due_at(_local(zone, *on, 23, 59) + HOUR) == due_at
    assert hours.next_digest_at(due_at - MINUTE) == due_at
