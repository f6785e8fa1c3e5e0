"""The next charge and its leak rate, against sums done by hand and against laws that any such estimate must keep."""

import random
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.forecast.forecast import Forecast, NoForecast, forecast
from compliance.rulebook.parse import parse
from tests.compliance.rulebook.scenario import added, days_after, document, fact, follow_up, mg

LAST = "2026-06-10"
# 100 lb of charge, three intervals of 50, 25 and 100 days, each for 4 lb: 0.08, 0.16 and 0.04 lb a day.
THREE = [
    added("2025-12-17", 4),
    added("2026-02-05", 4),
    added("2026-03-02", 4),
    added(LAST, 4),
]


def ahead(facts, *, as_of="2026-06-11", **keys):
    request = parse(document(list(facts), as_of=as_of, **keys))
    return forecast(request.appliance, request.facts, as_of=request.as_of, rules=request.rules)


def test_each_past_interval_gives_a_day_for_the_next_charge():
    answer = ahead(THREE)

    assert isinstance(answer, Forecast)
    assert str(answer.charged_on) == LAST
    # 4 lb at 0.16, 0.08 and 0.04 lb a day last 25, 50 and 100 days.
    assert [str(outcome.on) for outcome in answer.outcomes] == [
        days_after(LAST, days) for days in (25, 50, 100)
    ]
    assert answer.middle.on == answer.outcomes[1].on
    assert answer.outlasted == 0
    # Two of four further intervals fall between the least and the greatest of three.
    assert answer.coverage == Fraction(1, 2)


def test_the_leak_rate_of_the_next_charge_is_the_rulebooks():
    answer = ahead(THREE)

    # Annualizing, 40 CFR 82.152 as 84.106(b) takes it: 4 lb / 100 lb x 365 / days; over 10 % at 25 and 50 and 100 days.
    assert [outcome.rate.percent_rounded for outcome in answer.outcomes] == [
        Decimal("58.40"),
        Decimal("29.20"),
        Decimal("14.60"),
    ]
    assert answer.over_count == 3
    # 90 days from 2026-06-11 end on 2026-09-09; the slowest loss asks for its charge on 2026-09-18.
    assert answer.over_soon_count == 2


def test_by_the_rolling_method_what_went_in_before_counts_too():
    answer = ahead(THREE, leak_rate_method="rolling_average")

    # Rolling since 2026-01-01 (40 CFR 84.106(b)(2) for the first calculation; 365 days for later ones):
    # 5 x 4 lb of 100 lb where the addition of 2025-12-17 is still inside the 365 days.
    assert [outcome.rate.percent_rounded for outcome in answer.outcomes] == [Decimal("20.00")] * 3


def test_days_that_have_passed_without_a_charge_are_dropped():
    answer = ahead(THREE, as_of=days_after(LAST, 60))

    assert [str(outcome.on) for outcome in answer.outcomes] == [days_after(LAST, 100)]
    assert answer.outlasted == 2


def test_a_loss_below_any_of_the_past_gives_no_estimate():
    assert ahead(THREE, as_of=days_after(LAST, 101)) is NoForecast.LOSES_LESS


@pytest.mark.parametrize("facts", [[], THREE[:1], THREE[:2]])
def test_one_interval_is_no_history(facts):
    assert ahead(facts) is NoForecast.TOO_FEW_CHARGES


@pytest.mark.parametrize("kind", ["retired", "mothballed"])
def test_an_appliance_out_of_use_loses_nothing_on_record(kind):
    assert ahead([*THREE, fact(kind, "2026-06-11")]) is NoForecast.NOT_IN_USE


def test_mothballing_ends_with_the_next_charge_or_the_return():
    stood_still = fact("mothballed", "2026-05-01")
    back = [fact("mothballed", "2026-06-10"), fact("returned_to_service", "2026-06-11")]

    assert isinstance(ahead([*THREE, stood_still]), Forecast)
    assert isinstance(ahead([*THREE, *back]), Forecast)


def test_a_repair_proven_since_the_last_charge_is_told():
    assert ahead(THREE).repaired_on is None
    assert ahead([*THREE, follow_up("2026-06-11")]).repaired_on == date(2026, 6, 11)
    assert ahead([*THREE, follow_up("2026-06-11", passed=False)]).repaired_on is None


def test_where_no_rule_calculates_a_rate_the_day_is_told_alone():
    answer = ahead(THREE, rules=("eu",))

    assert answer.middle.rate is None
    assert answer.over_count == 0


HISTORIES = st.lists(
    st.tuples(st.integers(1, 200), st.integers(1_000, 20_000_000)), min_size=3, max_size=9
).map(
    lambda steps: [
        {
            "on": str(date(2024, 1, 1) + timedelta(days=sum(days for days, _ in steps[: place + 1]))),
            "mg": mass,
        }
        for place, (_, mass) in enumerate(steps)
    ]
)


def of_history(history, scale=1, later=0):
    facts = [
        fact(
            "addition",
            days_after(row["on"], later),
            mass=mg(row["mg"] * scale),
        )
        for row in history
    ]
    return ahead(facts, as_of=facts[-1]["on"], full_charge=mg(50_000_000 * scale), rules=("eu", "us-federal"))


@given(HISTORIES)
def test_scaling_all_masses_and_the_charge_changes_no_day(history):
    once, twice = of_history(history), of_history(history, scale=2)

    assert [row.on for row in once.outcomes] == [row.on for row in twice.outcomes]
    assert 2 * once.usual_mg == twice.usual_mg


@given(HISTORIES, st.integers(1, 400))
def test_moving_everything_moves_every_day(history, later):
    before, after = of_history(history), of_history(history, later=later)

    moved = timedelta(days=later)
    assert [row.on + moved for row in before.outcomes] == [row.on for row in after.outcomes]


@given(HISTORIES, st.randoms(use_true_random=False))
def test_filing_order_never_matters(history, rng):
    facts = [fact("addition", row["on"], mass=mg(row["mg"])) for row in history]
    shuffled = rng.sample(facts, len(facts))

    assert ahead(facts, as_of=history[-1]["on"]) == ahead(shuffled, as_of=history[-1]["on"])


def test_the_stated_coverage_is_met_by_losses_drawn_from_one_distribution():
    """Exchangeable intervals keep (n − 1) / (n + 1) whatever their distribution: here 400 lives of five."""
    rng = random.Random(84106)
    inside = 0
    for _ in range(400):
        days = [round(rng.lognormvariate(3.8, 0.6)) + 1 for _ in range(7)]
        charged = [sum(days[: place + 1]) for place in range(7)]
        *facts, following = [added(days_after("2024-01-01", day), 4) for day in charged]
        answer = ahead(facts, as_of=facts[-1]["on"], rules=("eu",))
        assert answer.coverage == Fraction(4, 6)
        inside += answer.earliest_on <= date.fromisoformat(following["on"]) <= answer.latest_on

    # Three standard deviations of 400 draws at 2/3.
    assert abs(inside / 400 - 4 / 6) < 3 * (4 / 6 * 2 / 6 / 400) ** 0.5
