"""Until ``holds_until`` the passing of time alone changes nothing of an answer that is kept."""

from dataclasses import fields
from datetime import date, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from compliance.rulebook.assess import assess
from compliance.rulebook.dates import LATEST_ON
from compliance.rulebook.holding import AskedDay
from compliance.rulebook.parse import parse
from tests.compliance.rulebook.scenario import added, ask, fact, follow_up, initial_test, repaired
from tests.oracle.histories import EPISODES, FURTHER_EPISODES, RULE_SETS, requests

DAY = timedelta(days=1)
LIVES = requests(episodes=(*EPISODES, *FURTHER_EPISODES), rule_sets=RULE_SETS)
OVER = added("2026-03-02", 20)
MENDED = [OVER, repaired("2026-03-10"), initial_test("2026-03-10"), follow_up("2026-03-20")]


def _kept(answer):
    """All of an answer but the day asked about, the headroom on it, and how long it holds."""
    return [
        getattr(answer, field.name)
        for field in fields(answer)
        if field.name not in {"as_of", "headroom", "holds_until"}
    ]


def _assess(request, on):
    return assess(request.appliance, request.facts, as_of=on, rules=request.rules)


@settings(max_examples=150, suppress_health_check=list(HealthCheck))
@given(LIVES, st.data())
def test_an_answer_is_the_same_on_every_day_on_which_it_holds(document, data):
    request = parse(document)
    first = _assess(request, request.as_of)
    assert request.as_of <= first.holds_until
    on = data.draw(
        st.one_of(st.just(first.holds_until), st.dates(request.as_of, first.holds_until)), label="later day"
    )

    assert _kept(_assess(request, on)) == _kept(first)


@settings(max_examples=60, suppress_health_check=list(HealthCheck))
@given(LIVES)
def test_who_doesn_t_look_ahead_gets_the_same_but_the_headroom(document):
    request = parse(document)
    looking = _assess(request, request.as_of)

    answer = assess(
        request.appliance, request.facts, as_of=request.as_of, rules=request.rules, looks_ahead=False
    )

    assert (_kept(answer), answer.holds_until) == (_kept(looking), looking.holds_until)
    assert answer.headroom.mass_mg is None


@pytest.mark.proof
@settings(max_examples=100, suppress_health_check=list(HealthCheck))
@given(LIVES)
def test_answers_of_two_years_are_those_that_held(document):
    request = parse(document)
    held = _assess(request, request.as_of)
    for days in range(2 * 365):
        on = request.as_of + days * DAY
        answer = _assess(request, on)
        if on > held.holds_until:
            held = answer
        assert _kept(answer) == _kept(held), on


@settings(max_examples=50, suppress_health_check=list(HealthCheck))
@given(LIVES)
def test_no_day_of_an_answer_is_the_day_asked_about_itself(document):
    answer = _assess(parse(document), parse(document).as_of)

    days = [answer.holds_until, answer.headroom.on, *(rate.on for rate in answer.leak_rates)]
    days += [day for row in answer.obligations for day in (row.opened_on, row.due_on, row.met_on)]
    assert not [day for day in days if isinstance(day, AskedDay)]


@pytest.mark.parametrize(
    ("facts", "as_of", "holds_until"),
    [
        # 40 CFR 84.106(d): 30 days for the repair; on the day after the last of them it is overdue.
        ([OVER], "2026-03-02", "2026-04-01"),
        ([OVER], "2026-04-01", "2026-04-01"),
        # 40 CFR 84.106(g): an inspection a year after the passed follow-up test of a comfort cooling appliance.
        (MENDED, "2026-03-20", "2027-03-20"),
        # 40 CFR 84.106(j): a chronic leak is reported by 1 March; the repair's days were over on 1 April.
        ([added("2026-03-02", 150)], "2026-04-02", "2027-03-01"),
        # A record of a later day counts from that day on.
        ([added("2026-03-02", 1), fact("retired", "2026-05-05")], "2026-03-20", "2026-05-04"),
        ([fact("retired", "2026-05-05")], "2026-05-05", LATEST_ON.isoformat()),
    ],
)
def test_an_answer_holds_until_the_day_before_the_next_change(facts, as_of, holds_until):
    assert ask(facts, as_of=as_of).holds_until.isoformat() == holds_until


def test_an_answer_before_a_rule_begins_holds_until_the_day_before():
    # 40 CFR 84.106 holds from 1 January 2026.
    answer = ask([added("2024-03-02", 1)], as_of="2025-11-20")

    assert answer.holds_until == date(2025, 12, 31)
    assert "us-federal-hfc" in {verdict.rule for verdict in answer.does_not_apply}


def test_nearly_every_answer_holds_for_days():
    """Or the sweep would have to look at everything every day: quiet, mended, mothballed, overdue appliances."""
    histories = [[], [added("2026-02-01", 1)], [OVER], MENDED, [OVER, fact("mothballed", "2026-03-05")]]
    rules = [("us-federal",), ("us-federal", "us-california"), ("eu",), ("uk",)]
    category = "commercial_refrigeration"

    answers = [
        ask(facts, as_of="2026-03-25", rules=of, category=category) for facts in histories for of in rules
    ]

    assert min(answer.holds_until - answer.as_of for answer in answers) >= timedelta(days=5)


ON = date(2026, 3, 2)
OTHER_DAYS = st.dates(ON - timedelta(days=900), ON + timedelta(days=900))
QUESTIONS = {
    "is before": lambda day, other: day < other,
    "is not after": lambda day, other: day <= other,
    "is after": lambda day, other: day > other,
    "is not before": lambda day, other: day >= other,
    "is": lambda day, other: day == other,
    "is not": lambda day, other: day != other,
    "is after, the other way round": lambda day, other: other < day,
    "earlier of both is the other": lambda day, other: min(day, other) is other,
    "later of both is the other": lambda day, other: max(other, day) is other,
    "year": lambda day, _: day.year,
    "month": lambda day, _: day.month,
    "day": lambda day, _: day.day,
    "ordinal": lambda day, _: day.toordinal(),
    "written": lambda day, _: f"{day}",
    "shown": lambda day, _: repr(day),
    "the morrow": lambda day, _: day + DAY,
    "how long": lambda day, other: day - other,
    "how long, the other way round": lambda day, other: other - day,
    "moved": lambda day, _: day.replace(day=1),
    "among others": lambda day, other: day in {other, other + DAY},
}


@pytest.mark.parametrize("question", QUESTIONS)
@given(other=OTHER_DAYS)
def test_whatever_is_asked_of_a_day_has_the_same_answer_until_it_says(question, other):
    asked = AskedDay.of(ON)
    answer = QUESTIONS[question](asked, other)
    assert answer == QUESTIONS[question](ON, other)

    day = ON
    while day < min(asked.holds_until, date(2029, 1, 1)):
        day += DAY
        assert QUESTIONS[question](day, other) == answer
