"""The rolling rate from day to day: the same as calculated at each addition, and by hand between them."""

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from compliance.rulebook.jurisdictions.us_federal.rolling_course import RollingCourse, rolling_courses
from compliance.rulebook.parse import parse
from tests.compliance.rulebook.scenario import (
    HFC,
    ODS,
    Facts,
    added,
    ask,
    document,
    fact,
    follow_up,
    initial_test,
    lb,
    mg,
    repaired,
)

YEAR = {"from_on": date(2026, 1, 1), "to_on": date(2026, 12, 31)}
R_22 = {"refrigerant": "R-22", "category": "commercial_refrigeration"}


def courses(facts: Facts, from_on: date, to_on: date, **appliance: object) -> list[RollingCourse]:
    request = parse(document(facts, as_of=str(to_on), **appliance))
    return rolling_courses(request.appliance, request.facts, from_on=from_on, to_on=to_on)


def steps(course: RollingCourse) -> list[tuple[str, Decimal]]:
    return [(str(step.on), step.percent_rounded) for step in course.steps]


# Source: the formula of 40 CFR 82.152, *Leak rate*, (2): the additions of the previous 365-day period over the full
# charge. 200 lb; 15 lb on 2025-07-01 are 7.5 %, and so on; each leaves the window 365 days later.
def test_steps_up_at_an_addition_and_down_a_year_later() -> None:
    facts = [added("2025-07-01", 15), added("2026-01-15", 10), added("2026-06-20", 12)]

    (course,) = courses(facts, **YEAR, full_charge=200, **R_22)

    assert course.rule == ODS
    assert steps(course) == [
        ("2026-01-01", Decimal("7.50")),
        ("2026-01-15", Decimal("12.50")),
        ("2026-06-20", Decimal("18.50")),
        ("2026-07-01", Decimal("11.00")),
    ]
    assert course.highest.on == date(2026, 6, 20)
    assert course.threshold_pct == 20
    assert [step.added_mg for step in course.additions] == [4535924, 5443108]


# Source: 40 CFR 84.106(b)(2): the first calculation counts what was added from 2026-01-01 on.
def test_first_calculation_of_the_hfc_rule_leaves_out_the_year_before() -> None:
    facts = [added("2025-07-01", 15), added("2026-01-15", 10), added("2026-06-20", 12)]

    (course,) = courses(facts, **YEAR, full_charge=200)

    assert course.rule == HFC
    assert steps(course) == [
        ("2026-01-01", Decimal("0.00")),
        ("2026-01-15", Decimal("5.00")),
        ("2026-06-20", Decimal("18.50")),
        ("2026-07-01", Decimal("11.00")),
    ]
    assert any("40 CFR 84.106(b)" in note for note in course.notes)


def test_no_addition_is_a_line_at_zero() -> None:
    (course,) = courses([], **YEAR)

    assert steps(course) == [("2026-01-01", Decimal("0.00"))]
    assert course.additions == []


# Source: 40 CFR 82.152, *Leak rate*, (2): since the last follow-up test that showed all leaks repaired.
def test_falls_to_zero_on_the_day_of_a_passed_follow_up_test_after_the_additions_of_that_day() -> None:
    facts = [
        added("2026-03-02", 12),
        repaired("2026-03-10"),
        initial_test("2026-03-10"),
        added("2026-03-16", 3),
        follow_up("2026-03-16"),
        added("2026-05-04", 2),
    ]

    (course,) = courses(facts, **YEAR)

    assert steps(course) == [
        ("2026-01-01", Decimal("0.00")),
        ("2026-03-02", Decimal("12.00")),
        ("2026-03-16", Decimal("15.00")),
        ("2026-03-16", Decimal("0.00")),
        ("2026-05-04", Decimal("2.00")),
    ]
    assert course.began_anew_on == (date(2026, 3, 16),)


def test_each_of_two_follow_up_tests_without_an_addition_between_them_begins_anew() -> None:
    facts = [added("2026-03-02", 12)]
    for on in ("2026-03-10", "2026-06-10"):
        facts += [repaired(on), initial_test(on), follow_up(on)]

    (course,) = courses(facts, **YEAR)

    assert steps(course)[-1] == ("2026-03-10", Decimal("0.00"))
    assert len(course.began_anew_on) == 2


def test_a_new_full_charge_changes_the_rate_from_its_day_on() -> None:
    change = fact("full_charge_change", "2026-05-01", full_charge=lb(80), method="measurement")

    (course,) = courses([added("2026-03-02", 8), change], **YEAR)

    assert steps(course)[1:] == [("2026-03-02", Decimal("8.00")), ("2026-05-01", Decimal("10.00"))]


@pytest.mark.parametrize("year", [2024, 2025])
def test_before_the_rule_there_is_no_course(year: int) -> None:
    assert courses([added("2024-03-02", 8)], date(year, 1, 1), date(year, 12, 31)) == []


@pytest.mark.parametrize(
    ("appliance", "starts_on"), [({}, "2026-01-01"), ({"installed_on": "2026-04-01"}, "2026-04-01")]
)
def test_starts_with_the_appliance_and_ends_with_it(appliance: dict, starts_on: str) -> None:
    (course,) = courses([fact("retired", "2026-08-01")], **YEAR, **appliance)

    assert str(course.steps[0].on) == starts_on
    assert course.ends_on == date(2026, 8, 1)


HISTORIES = st.lists(
    st.tuples(st.integers(0, 1100), st.integers(1_000, 9_000_000), st.sampled_from("aaaaft")),
    min_size=1,
    max_size=9,
    unique_by=lambda entry: entry[0],
)


@settings(max_examples=80, deadline=None)
@given(HISTORIES, st.sampled_from(["R-22", "R-410A"]))
def test_equals_the_calculated_rate_at_each_addition_and_a_slow_sum_on_each_day(history, refrigerant) -> None:
    start = date(2024, 6, 1)
    facts: Facts = []
    for day, mass_mg, what in history:
        on = str(start + timedelta(days=day))
        if what == "a":
            facts.append(fact("addition", on, mass=mg(mass_mg)))
        else:
            facts += [repaired(on), initial_test(on), follow_up(on)]
    end = start + timedelta(days=1100)
    appliance = {"refrigerant": refrigerant, "leak_rate_method": "rolling_average"}

    rates = ask(facts, as_of=str(end), **appliance).leak_rates
    found = courses(facts, start, end, **appliance)

    steps_of_additions = [step for course in found for step in course.additions]
    assert [(step.on, step.percent, step.is_over) for step in steps_of_additions] == [
        (rate.on, rate.percent, rate.exceeds) for rate in rates
    ]
    if refrigerant == "R-22":
        (course,) = found
        for day in range(1101):
            assert value_on(course, start + timedelta(days=day)) == slow_value(history, day)


def value_on(course: RollingCourse, on: date) -> Fraction:
    return [step for step in course.steps if step.on <= on][-1].percent


def slow_value(history: list[tuple[int, int, str]], day: int) -> Fraction:
    """The additions of the day and the 364 before it that no follow-up test came after."""
    anew = max((at for at, _, what in history if what != "a" and at <= day), default=-1)
    mass_mg = sum(m for at, m, what in history if what == "a" and max(anew, day - 364) <= at <= day)
    return Fraction(mass_mg * 100, 45_359_237)
