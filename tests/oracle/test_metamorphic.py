"""What must not change, or must change alike, when the same life is told in another way."""

import copy
import random
from collections import Counter
from datetime import date, timedelta
from decimal import Decimal

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from tests.oracle.contract import assess_json
from tests.oracle.histories import EPISODES, FURTHER_EPISODES, RULE_SETS, requests, season
from tests.oracle.records import milligrams

RELAXED = settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large],
)
MASS_KEYS = ("mass", "full_charge", "purged_and_destroyed")
DATE_KEYS = ("on", "until", "delivered_on")
# The calendar comes back after four years, for dates that no century's end parts.
FOUR_YEARS = 1461


def with_masses(request, change):
    """The request with each mass replaced by `change` of its milligrams, written in grams."""
    changed = copy.deepcopy(request)
    for place in [changed["appliance"], *changed["facts"]]:
        for key in MASS_KEYS:
            if key in place:
                place[key] = {"value": change(milligrams(place[key])) / Decimal(1000), "unit": "g"}
    return changed


def moved(request, days):
    """The request with every date, and every calendar year it names, moved by whole days."""

    def later(text):
        return (date.fromisoformat(text) + timedelta(days=days)).isoformat()

    changed = copy.deepcopy(request)
    changed["as_of"] = later(changed["as_of"])
    if changed["appliance"]["installed_on"] is not None:
        changed["appliance"]["installed_on"] = later(changed["appliance"]["installed_on"])
    for fact in changed["facts"]:
        for key in DATE_KEYS:
            if key in fact:
                fact[key] = later(fact[key])
        if "year" in fact:
            fact["year"] += days // FOUR_YEARS * 4
    return changed


def without_words(value):
    """An answer without its explanations, which may name what was typed."""
    if isinstance(value, dict):
        return {key: without_words(one) for key, one in value.items() if key not in {"because", "warnings"}}
    return [without_words(one) for one in value] if isinstance(value, list) else value


def dates_moved(rows, days, keys):
    return [
        {
            key: (date.fromisoformat(row[key]) + timedelta(days=days)).isoformat()
            if key.endswith("on") and row[key]
            else row[key]
            for key in keys
        }
        for row in rows
    ]


def is_near_threshold(row):
    """Within the resolution the number of entries decides, not the ratio."""
    return abs(row["percent"] - row["threshold_percent"]) < Decimal("0.02")


@RELAXED
@given(requests(), st.integers(2, 9))
def test_scaling_every_mass_and_the_charge_changes_no_rate(request_, factor):
    plain = with_masses(request_, lambda mass: mass)
    scaled = with_masses(request_, lambda mass: mass * factor)
    # A charge under a rule's least charge comes under it when it's scaled.
    places = [request_["appliance"], *request_["facts"]]
    assume(all(milligrams(place["full_charge"]) > 25_000_000 for place in places if "full_charge" in place))

    before, after = assess_json(plain)["leak_rates"], assess_json(scaled)["leak_rates"]

    assert len(before) == len(after)
    for one, other in zip(before, after, strict=True):
        assert [one[key] for key in ("on", "rule", "percent", "days")] == [
            other[key] for key in ("on", "rule", "percent", "days")
        ]
        assert other["added"]["mg"] == one["added"]["mg"] * factor
        assert one["exceeds"] == other["exceeds"] or is_near_threshold(one)


@RELAXED
@given(requests())
def test_typing_the_same_masses_in_grams_changes_nothing(request_):
    assert without_words(assess_json(with_masses(request_, lambda mass: mass))) == without_words(
        assess_json(request_)
    )


@RELAXED
@given(requests(), st.data())
def test_splitting_an_addition_within_its_event_changes_no_rate(request_, data):
    plain = with_masses(request_, lambda mass: mass)
    places = [
        place
        for place, fact in enumerate(plain["facts"])
        if fact["kind"] == "addition"
        and "event" in fact
        and "reason" not in fact
        and milligrams(fact["mass"]) > 1
    ]
    assume(places)
    place = data.draw(st.sampled_from(places))
    whole = milligrams(plain["facts"][place]["mass"])
    part = data.draw(st.integers(1, whole - 1))
    split = copy.deepcopy(plain)
    second = copy.deepcopy(split["facts"][place])
    second.pop("purged_and_destroyed", None)
    second["mass"] = {"value": (whole - part) / Decimal(1000), "unit": "g"}
    split["facts"][place]["mass"] = {"value": part / Decimal(1000), "unit": "g"}
    split["facts"].insert(place + 1, second)

    before, after = assess_json(plain), assess_json(split)

    assume(not any(is_near_threshold(row) for row in before["leak_rates"]))
    assert without_words(before["leak_rates"]) == without_words(after["leak_rates"])
    assert before["headroom"]["mass"] == after["headroom"]["mass"]


@RELAXED
@given(
    requests(episodes=(*EPISODES, *FURTHER_EPISODES), rule_sets=RULE_SETS), st.randoms(use_true_random=False)
)
def test_order_of_facts_of_different_days_never_matters(request_, chance: random.Random):
    by_day: dict[str, list] = {}
    for fact in request_["facts"]:
        by_day.setdefault(fact["on"], []).append(fact)
    slots = [day for day, count in Counter(f["on"] for f in request_["facts"]).items() for _ in range(count)]
    chance.shuffle(slots)
    remaining = {day: iter(facts) for day, facts in by_day.items()}
    shuffled = {**request_, "facts": [next(remaining[day]) for day in slots]}

    assert assess_json(shuffled) == assess_json(request_)


@RELAXED
@given(
    requests(
        starts=st.dates(date(2027, 1, 1), date(2040, 12, 31)),
        episodes=(*EPISODES, *FURTHER_EPISODES),
        rule_sets=RULE_SETS,
    ),
    st.integers(1, 10),
)
def test_moving_a_life_by_four_years_moves_every_date_with_it(request_, times):
    days = FOUR_YEARS * times
    keys = ("rule", "kind", "opened_on", "due_on", "status", "met_on")

    before, after = assess_json(request_), assess_json(moved(request_, days))

    assert dates_moved(before["obligations"], days, keys) == dates_moved(after["obligations"], 0, keys)
    rate_keys = ("on", "rule", "percent", "days", "exceeds")
    assert dates_moved(before["leak_rates"], days, rate_keys) == dates_moved(
        after["leak_rates"], 0, rate_keys
    )
    assert before["headroom"]["mass"] == after["headroom"]["mass"]


@RELAXED
@given(
    requests(
        starts=st.dates(date(2027, 1, 1), date(2040, 12, 31)),
        episodes=tuple(episode for episode in EPISODES if episode is not season),
    ),
    st.integers(1, 4000),
)
def test_moving_a_life_by_days_moves_the_clocks_of_days_with_it(request_, days):
    # Plans, completion, inspections and reports count months and calendar years, so they aren't compared here.
    in_days = {"repair", "initial_verification_test", "follow_up_verification_test"}
    keys = ("rule", "kind", "opened_on", "due_on", "status", "met_on")

    def clocks(answer):
        return [row for row in answer["obligations"] if row["kind"] in in_days]

    before, after = assess_json(request_), assess_json(moved(request_, days))

    assert dates_moved(clocks(before), days, keys) == dates_moved(clocks(after), 0, keys)
    rate_keys = ("on", "rule", "percent", "days", "exceeds")
    assert dates_moved(before["leak_rates"], days, rate_keys) == dates_moved(
        after["leak_rates"], 0, rate_keys
    )
    assert before["headroom"]["mass"] == after["headroom"]["mass"]


@RELAXED
@given(requests(episodes=(*EPISODES, *FURTHER_EPISODES), rule_sets=RULE_SETS), st.data())
def test_an_amended_record_counts_as_if_it_had_been_filed_so_at_first(request_, data):
    # An amendment is filed last; what it supersedes is no longer among the facts.
    days = Counter(fact["on"] for fact in request_["facts"])
    alone = [place for place, fact in enumerate(request_["facts"]) if days[fact["on"]] == 1]
    assume(alone)
    place = data.draw(st.sampled_from(alone))
    amended = {**request_["facts"][place], "event": "amended"}
    at_first = [*request_["facts"][:place], amended, *request_["facts"][place + 1 :]]
    filed_last = [*request_["facts"][:place], *request_["facts"][place + 1 :], amended]

    assert assess_json({**request_, "facts": filed_last}) == assess_json({**request_, "facts": at_first})


@RELAXED
@given(requests(), st.data())
def test_earlier_rows_are_never_rewritten(request_, data):
    days = [fact["on"] for fact in request_["facts"] if fact["on"] <= request_["as_of"]]
    assume(days)
    earlier = data.draw(st.sampled_from(days))

    then = assess_json({**request_, "as_of": earlier})["leak_rates"]
    now = assess_json(request_)["leak_rates"]

    assert then == [row for row in now if row["on"] <= earlier]


@RELAXED
@given(requests())
def test_headroom_is_the_edge(request_):
    headroom = assess_json(request_)["headroom"]["mass"]
    assume(headroom is not None and headroom["mg"] > 0)

    def is_over(mass_mg):
        fact = {"on": request_["as_of"], "kind": "addition", "event": "new", "leak": "new"}
        fact["mass"] = {"value": mass_mg / Decimal(1000), "unit": "g"}
        rows = assess_json({**request_, "facts": [*request_["facts"], fact]})["leak_rates"]
        last = [row for row in rows if row["on"] == request_["as_of"]]
        per_rule = {row["rule"]: row["exceeds"] for row in last}
        return any(per_rule.values())

    entries = sum(fact["kind"] in {"addition", "removal"} for fact in request_["facts"]) * 2 + 1
    assert not is_over(headroom["mg"])
    assert is_over(headroom["mg"] + entries + 1)
