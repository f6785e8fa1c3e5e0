"""When a cylinder is due for its test, and which periods its specification allows."""

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.rulebook.requalification import (
    allowed_periods,
    is_non_refillable,
    recovery_period,
    requalification_due_on,
    specification_code,
)

date = datetime.date


@pytest.mark.parametrize(
    ("marked_on", "years", "due_on"),
    [
        # Common practice, no source: the marked month counts to its end.
        (date(2021, 4, 1), 5, date(2026, 4, 30)),
        (date(2021, 4, 30), 5, date(2026, 4, 30)),
        (date(2024, 2, 29), 5, date(2029, 2, 28)),
        (date(2021, 2, 3), 7, date(2028, 2, 29)),
        (date(2014, 12, 31), 12, date(2026, 12, 31)),
    ],
)
def test_due_on_is_the_last_day_of_the_marked_month(marked_on, years, due_on):
    assert requalification_due_on(marked_on, years) == due_on


@given(st.dates(date(1990, 1, 1), date(2060, 12, 31)), st.sampled_from([5, 7, 10, 12]))
def test_the_day_in_the_month_makes_no_difference(day, years):
    due_on = requalification_due_on(day, years)

    assert due_on == requalification_due_on(day.replace(day=1), years)
    assert (due_on + datetime.timedelta(days=1)).day == 1
    assert (due_on.year - day.year, due_on.month) == (years, day.month)


@pytest.mark.parametrize("stamped", ["DOT-4B300", "DOT-4BA400", "dot 4BW260", "4B240ET", "DOT-4B-240ET"])
def test_four_series_may_have_the_periods_of_table_1(stamped):
    # 49 CFR 180.209(a), table 1: “5, 7, 10 or 12 years”; 85 FR 68790, effective 2020-11-30.
    assert allowed_periods(stamped, on=date(2020, 11, 30)).years == (5, 7, 10, 12)


def test_seven_years_were_not_listed_before_the_amendment():
    # An older edition of table 1 read “5, 10, or 12” (secondary source).
    assert allowed_periods("DOT-4BA400", on=date(2020, 11, 29)).years == (5, 10, 12)


def test_a_specification_without_a_row_is_only_bounded():
    periods = allowed_periods("ISO 9809", on=date(2026, 3, 2))

    assert (periods.years[0], periods.years[-1], periods.is_listed) == (1, 12, False)
    assert periods.in_words == "1 to 12"


def test_a_recovery_cylinder_has_five_years():
    # Our reading of 49 CFR 180.203 and 180.209(e): recovered refrigerant may hold moisture of 55 ppm and more.
    row = recovery_period(on=date(2026, 3, 2))

    assert (row.count, row.status) == (5, "I")


@pytest.mark.parametrize(
    ("stamped", "code"),
    [
        ("DOT-4BA400", "4BA"),
        ("DOT-4BW260", "4BW"),
        ("4B-240ET", "4B-240ET"),
        ("DOT-39", "39"),
        ("DOT-3AA2015", ""),
        ("", ""),
    ],
)
def test_specification_is_read_off_the_collar(stamped, code):
    assert specification_code(stamped) == code


def test_specification_39_is_never_refilled():
    # 49 CFR 178.65, from memory.
    assert is_non_refillable("DOT-39 NRC 260/325")
    assert not is_non_refillable("DOT-4BA400")
