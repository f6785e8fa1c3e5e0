"""Properties that hold for every history: scaling, splitting, order, translation in time, headroom."""

from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.compliance.rulebook.scenario import added, ask, fact, follow_up, initial_test, mg, repaired

START = date(2026, 1, 5)
METHODS = st.sampled_from(["annualizing", "rolling_average"])
STATES = {"open", "overdue", "met", "met_late", "failed", "suspended", "cancelled"}


def on(day: int) -> str:
    return str(START + timedelta(days=day))


def grams(day: int, mass_mg: int, **keys: object) -> dict:
    return fact("addition", on(day), mass=mg(mass_mg), **keys)


HISTORIES = st.lists(
    st.tuples(st.integers(0, 900), st.integers(1_000, 9_000_000)),
    min_size=1,
    max_size=7,
    unique_by=lambda pair: pair[0],
)


@settings(max_examples=60, deadline=None)
@given(HISTORIES, METHODS, st.integers(2, 9))
def test_scaling_masses_and_charge_together_leaves_the_rates(history, method, factor):
    asked = {"leak_rate_method": method, "as_of": on(1000)}

    small = ask([grams(day, mass) for day, mass in history], full_charge=mg(45_000_000), **asked)
    large = ask(
        [grams(day, mass * factor) for day, mass in history], full_charge=mg(45_000_000 * factor), **asked
    )

    assert [rate.percent for rate in small.leak_rates] == [rate.percent for rate in large.leak_rates]


@settings(max_examples=60, deadline=None)
@given(HISTORIES, st.data())
def test_splitting_an_addition_on_its_day_leaves_the_last_rolling_rate_of_the_day(history, data):
    day, mass = history[0]
    part = data.draw(st.integers(1, mass - 1))
    asked = {"leak_rate_method": "rolling_average", "as_of": on(1000)}
    rest = [grams(other_day, other_mass) for other_day, other_mass in history[1:]]

    whole = ask([grams(day, mass, event="A"), *rest], **asked)
    split = ask([grams(day, part, event="A"), grams(day, mass - part, event="B"), *rest], **asked)

    def last_of_each_day(answer):
        return {rate.on: rate.percent for rate in answer.leak_rates}

    assert last_of_each_day(whole) == last_of_each_day(split)


@settings(max_examples=60, deadline=None)
@given(HISTORIES, METHODS, st.randoms(use_true_random=False))
def test_the_order_in_which_different_days_are_given_does_not_matter(history, method, random):
    facts = [grams(day, mass) for day, mass in history]
    shuffled = facts[:]
    random.shuffle(shuffled)

    assert ask(facts, leak_rate_method=method, as_of=on(1000)) == ask(
        shuffled, leak_rate_method=method, as_of=on(1000)
    )


def act(draw, day):
    """One of many things that may happen to an appliance, dated."""
    kinds = [
        added(on(day), draw(st.integers(1, 30))),
        repaired(on(day), evacuated=draw(st.booleans())),
        initial_test(on(day), passed=draw(st.booleans())),
        follow_up(on(day), passed=draw(st.booleans()), all_leaks=draw(st.booleans())),
        fact("normal_operation", on(day)),
        fact("mothballed", on(day)),
        fact("returned_to_service", on(day)),
        fact("leak_inspection", on(day), leaks_found=0),
        fact("retrofit_or_retirement_elected", on(day)),
        fact("retrofit_or_retirement_plan", on(day)),
        fact("relief_requested", on(day)),
        fact("agency_answer", on(day), granted=draw(st.booleans())),
        fact("plan_extension", on(day), until=on(day + 400), basis="custom_built"),
        fact(
            "extension",
            on(day),
            obligation=draw(st.sampled_from(["repair", "follow_up_verification_test"])),
            basis="parts",
        ),
        fact("industrial_process_shutdown_required", on(day)),
        fact("full_charge_change", on(day), full_charge=mg(50_000_000), method="measured"),
        fact(
            "retrofitted",
            on(day),
            refrigerant=draw(st.sampled_from(["R-22", "R-454B"])),
            full_charge=mg(40_000_000),
        ),
        fact("automatic_leak_detection", on(day), type="indirect"),
        fact("leak_detection_calibration", on(day)),
    ]
    return kinds[draw(st.integers(0, len(kinds) - 1))]


@st.composite
def stories(draw, last_day=500):
    days = draw(st.lists(st.integers(0, last_day), min_size=1, max_size=14))
    return [act(draw, day) for day in sorted(days)]


ASKED = st.fixed_dictionaries(
    {
        "refrigerant": st.sampled_from(["R-22", "R-410A", "R-402A"]),
        "category": st.sampled_from(["comfort_cooling", "industrial_process_refrigeration"]),
        "leak_rate_method": METHODS,
        "rules": st.sampled_from([("us-federal",), ("us-federal", "us-california", "eu", "uk")]),
        "full_charge": st.sampled_from([40, 100, 600, 2500]),
        "installed_on": st.sampled_from([None, "2019-05-01", "2026-02-01"]),
        "enclosed": st.booleans(),
        "hermetically_sealed": st.booleans(),
    }
)


@settings(max_examples=150, deadline=None)
@given(stories(), ASKED, st.integers(0, 700))
def test_every_story_has_an_answer_whose_states_agree_with_its_dates(story, asked, day):
    answer = ask(story, as_of=on(day), **asked)

    for row in answer.obligations:
        assert row.status in STATES
        assert row.because
        assert row.citation
        assert row.opened_on <= answer.as_of
        assert (row.met_on is not None) == (row.status in ("met", "met_late"))
        if row.due_on is None:
            continue
        assert row.status != "suspended"
        if row.status == "overdue":
            assert row.due_on < answer.as_of
        elif row.status == "open" and row.kind != "record_retention":
            assert row.due_on >= answer.as_of
        elif row.status in ("met", "met_late"):
            assert (row.met_on <= row.due_on) == (row.status == "met")


@settings(max_examples=100, deadline=None)
@given(stories(), ASKED, st.integers(0, 500))
def test_facts_of_later_days_change_nothing_asked_about_earlier(story, asked, day):
    until_then = [item for item in story if item["on"] <= on(day)]

    knowing, unknowing = ask(story, as_of=on(day), **asked), ask(until_then, as_of=on(day), **asked)

    assert knowing.holds_until <= unknowing.holds_until
    assert replace(knowing, holds_until=unknowing.holds_until) == unknowing


@settings(max_examples=60, deadline=None)
@given(stories(last_day=300), st.integers(1, 300))
def test_moving_a_story_by_whole_days_moves_day_counted_due_dates_with_it(story, shift):
    """Repair and test clocks count days alone, so they move as one; calendar years and months need not."""

    def moved(item):
        return {
            key: str(date.fromisoformat(value) + timedelta(days=shift)) if key in ("on", "until") else value
            for key, value in item.items()
        }

    kept = [
        item
        for item in story
        if item["kind"]
        in (
            "addition",
            "repair",
            "initial_verification_test",
            "follow_up_verification_test",
            "mothballed",
            "normal_operation",
        )
    ]
    kinds = {"repair", "initial_verification_test", "follow_up_verification_test"}

    def dues(answer, by):
        return [
            (
                row.kind,
                row.opened_on - timedelta(days=by),
                row.due_on and row.due_on - timedelta(days=by),
                row.status,
            )
            for row in answer.obligations
            if row.kind in kinds
        ]

    asked = {"refrigerant": "R-22", "installed_on": None}
    here, there = (
        ask(kept, as_of=on(330), **asked),
        ask([moved(item) for item in kept], as_of=on(330 + shift), **asked),
    )
    assert dues(here, 0) == dues(there, shift)


@settings(max_examples=100, deadline=None)
@given(HISTORIES, METHODS, st.sampled_from(["R-22", "R-410A", "R-402A"]))
def test_headroom_is_the_last_milligram_that_stays_at_or_under_the_threshold(history, method, refrigerant):
    facts = [grams(day, mass) for day, mass in history]
    asked = {"leak_rate_method": method, "as_of": on(1000), "refrigerant": refrigerant}
    room = ask(facts, **asked).headroom.mass_mg

    def exact_excess(mass_mg):
        """Whether the exact rate is above the exact threshold, without the milligram's tolerance."""
        rates = [
            rate
            for rate in ask([*facts, grams(1000, mass_mg, event="next")], **asked).leak_rates
            if rate.on == START + timedelta(days=1000)
        ]
        return any(rate.percent > Fraction(rate.threshold_pct) for rate in rates)

    assert exact_excess(room + 1)
    if room > 0:
        assert not exact_excess(room)
