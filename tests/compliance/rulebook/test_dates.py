"""Calendar arithmetic: clamping to the month's end, and the one spelling of a date."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.rulebook.dates import add_days, add_months, add_years, parse_date
from compliance.rulebook.errors import InvalidInput


@pytest.mark.parametrize(
    ("on", "months", "expected"),
    [
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2028, 1, 31), 1, date(2028, 2, 29)),
        (date(2026, 12, 15), 1, date(2027, 1, 15)),
        (date(2026, 8, 31), 13, date(2027, 9, 30)),
        (date(2026, 3, 31), -1, date(2026, 2, 28)),
        (date(2026, 1, 31), -12, date(2025, 1, 31)),
        (date(2026, 5, 5), 0, date(2026, 5, 5)),
    ],
)
def test_months_clamp_to_the_end_of_the_month(on, months, expected):
    assert add_months(on, months) == expected


def test_a_year_after_29_february_is_28_february():
    assert add_years(date(2028, 2, 29), 1) == date(2029, 2, 28)
    assert add_years(date(2028, 2, 29), 4) == date(2032, 2, 29)


@given(st.dates(date(1950, 1, 1), date(2100, 1, 1)), st.integers(0, 400))
def test_days_are_calendar_days(on, days):
    assert (add_days(on, days) - on).days == days


@pytest.mark.parametrize(
    "value",
    [
        "2026-02-29",
        "2026-13-01",
        "20260301",
        "2026-3-1",
        "2026-W01-1",
        "01.03.2026",
        "",
        " 2026-03-01",
        "2026-03-01T00:00",
        "1899-12-31",
        "2200-01-01",
        "٢٠٢٦-٠٣-٠١",
        20260301,
        None,
        True,
        ["2026-03-01"],
    ],
)
def test_other_spellings_and_far_dates_are_refused(value):
    with pytest.raises(InvalidInput) as refused:
        parse_date(value, "as_of")

    assert (refused.value.field, refused.value.value) == ("as_of", value)


def test_a_date_is_read():
    assert parse_date("2028-02-29", "on") == date(2028, 2, 29)
