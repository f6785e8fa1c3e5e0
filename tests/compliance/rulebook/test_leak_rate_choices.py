"""The documented choices of the leak rate, each from both sides (policy.py)."""

from decimal import Decimal

import pytest

from compliance.rulebook import policy
from tests.compliance.rulebook.scenario import (
    HFC,
    ODS,
    added,
    ask,
    days_after,
    days_before,
    fact,
    follow_up,
    initial_test,
    lb,
    mg,
    removed,
    repaired,
)

R22 = {"refrigerant": "R-22", "as_of": "2027-12-31"}
ROLLING = {"leak_rate_method": "rolling_average", **R22}


def rates(facts, **keys):
    return ask(facts, **{**R22, **keys}).leak_rates


def grams(on, mass_mg, **keys):
    return fact("addition", on, mass=mg(mass_mg), **keys)


@pytest.mark.parametrize(
    "quantity",
    [
        lb(10),
        {"value": 160, "unit": "oz"},
        {"lb": 9, "oz": 16},
        {"value": Decimal("4.5359237"), "unit": "kg"},
    ],
)
@pytest.mark.parametrize("charge", [lb(100), {"value": Decimal("45.359237"), "unit": "kg"}])
@pytest.mark.parametrize("method", ["annualizing", "rolling_average"])
def test_10_of_100_lb_is_exactly_10_percent_in_whatever_unit(quantity, charge, method):
    (rate,) = rates(
        [fact("addition", "2026-03-01", mass=quantity)],
        full_charge=charge,
        leak_rate_method=method,
        installed_on=None,
    )

    assert (rate.exceeds, rate.percent_rounded) == (False, 10)


@pytest.mark.parametrize(("extra_mg", "exceeds"), [(0, False), (1, False), (2, True)])
def test_a_threshold_is_exceeded_by_more_than_a_milligram_for_each_entry(extra_mg, exceeds):
    (rate,) = rates(
        [grams("2026-03-01", 6_000_000 + extra_mg)], full_charge=mg(60_000_000), installed_on=None
    )

    assert rate.exceeds == exceeds
    assert (policy.RESOLUTION.sentence in rate.because) == (not exceeds)


@pytest.mark.parametrize(("extra_mg", "exceeds"), [(2, False), (3, True)])
def test_two_entries_have_a_resolution_of_two_milligrams(extra_mg, exceeds):
    facts = [grams("2026-03-01", 3_000_000), grams("2026-03-05", 3_000_000 + extra_mg)]

    assert rates(facts, full_charge=mg(60_000_000), **ROLLING)[-1].exceeds == exceeds


def test_removals_of_other_events_are_not_netted():
    facts = [removed("2026-03-15", 92, event="A"), added("2026-03-15", 100, event="B")]

    assert rates(facts)[0].net_mg == 45_359_237


def test_what_is_removed_after_it_was_added_in_one_event_counts_too():
    facts = [added("2026-03-15", 100, event="A"), removed("2026-03-15", 92, event="A")]

    assert rates(facts)[0].percent_rounded == 8


def test_a_day_without_names_is_one_event_with_its_removals():
    facts = [removed("2026-03-15", 92), added("2026-03-15", 60), added("2026-03-15", 40)]

    (rate,) = rates(facts)

    assert rate.percent_rounded == 8
    assert policy.NET_WITHIN_ONE_EVENT.sentence in rate.because


def test_a_named_addition_makes_every_addition_of_its_day_stand_alone():
    facts = [added("2026-03-15", 3), added("2026-03-15", 4), added("2026-03-15", 5, event="A")]

    first, *others = rates(facts, installed_on=None)

    assert first.percent_rounded == 3
    assert len(others) == 2


@pytest.mark.parametrize("reason", ["seasonal_variance", "disposal"])
def test_other_removals_are_not_netted(reason):
    facts = [removed("2026-03-15", 92, event="A", reason=reason), added("2026-03-15", 100, event="A")]

    assert rates(facts)[0].percent_rounded == 100


def test_a_net_of_nothing_is_a_row_and_counts_as_an_addition():
    facts = [
        removed("2026-03-15", 100, event="A"),
        added("2026-03-15", 99, event="A"),
        added("2026-03-25", 1),
    ]

    zero, later = rates(facts)

    assert (zero.percent, zero.exceeds, zero.added_mg) == (0, False, 0)
    assert later.days == 10


def test_purged_and_destroyed_refrigerant_does_not_count():
    facts = [added("2026-03-15", 12, purged_and_destroyed=lb(4))]

    assert rates(facts, installed_on=None)[0].percent_rounded == 8


def test_all_is_purged_gives_a_row_of_nothing():
    assert rates([added("2026-03-15", 12, purged_and_destroyed=lb(12))])[0].percent == 0


def test_two_events_on_one_day_are_one_day_apart():
    facts = [added("2026-03-01", 1), added("2026-03-11", 1, event="A"), added("2026-03-11", 1, event="B")]

    assert [rate.days for rate in rates(facts)][1:] == [10, 1]


def test_two_leaks_of_one_event_are_measured_from_the_event_before():
    facts = [
        added("2026-03-01", 1),
        added("2026-03-11", 1, event="A", leak="x"),
        added("2026-03-11", 2, event="A", leak="y"),
    ]

    assert [(rate.days, rate.added_mg) for rate in rates(facts)][1:] == [(10, 453_592), (10, 907_185)]


@pytest.mark.parametrize(("age", "counted"), [(364, True), (365, False)])
def test_the_window_holds_its_day_and_the_364_before(age, counted):
    facts = [added(days_before("2026-12-31", age), 5), added("2026-12-31", 3)]

    rate = rates(facts, **ROLLING)[-1]

    assert rate.percent_rounded == (8 if counted else 3)
    assert rate.days == 365


def test_the_window_is_365_days_in_a_leap_year_too():
    facts = [added("2027-12-31", 5), added("2028-12-30", 3)]

    assert rates(facts, **{**ROLLING, "as_of": "2028-12-31"})[-1].percent_rounded == 3


@pytest.mark.parametrize(
    ("installed", "days"),
    [
        ("2026-03-01", 1),
        ("2026-02-28", 1),
        ("2026-02-27", 2),
        ("2025-03-02", 364),
        ("2025-03-01", 365),
        ("2019-01-01", 365),
        (None, 365),
    ],
)
def test_without_an_earlier_addition_82_157_counts_the_days_since_installation(installed, days):
    assert rates([added("2026-03-01", 5)], installed_on=installed)[0].days == days


def test_an_installation_after_the_addition_is_not_believed():
    answer = ask([added("2026-03-01", 5)], installed_on="2026-04-01", **R22)

    assert answer.leak_rates[0].days == 365
    assert len(answer.warnings) == 1


@pytest.mark.parametrize("reason", ["installation", "retrofit", "seasonal_variance"])
def test_charges_without_a_rate_set_the_last_added_day(reason):
    facts = [
        removed("2026-01-01", 50, reason="seasonal_variance"),
        added("2026-02-01", 50, reason=reason),
        added("2026-03-01", 5),
    ]

    (rate,) = rates(facts)

    assert (str(rate.on), rate.days) == ("2026-03-01", 28)


@pytest.mark.parametrize(("removed_on", "counted"), [("2025-10-01", 15), ("2025-09-30", 75)])
def test_a_seasonal_removal_covers_the_12_months_after_it(removed_on, counted):
    facts = [
        removed(removed_on, 60, reason="seasonal_variance"),
        added("2026-10-01", 75, reason="seasonal_variance"),
    ]

    (rate,) = rates(facts)

    assert rate.net_mg == pytest.approx(counted * 453_592.37, abs=1)


def test_a_seasonal_removal_is_drawn_down_once():
    facts = [removed("2026-01-01", 60, reason="seasonal_variance")]
    facts += [
        added("2026-04-01", 40, reason="seasonal_variance"),
        added("2026-05-01", 40, reason="seasonal_variance"),
    ]

    (rate,) = rates(facts)

    assert rate.net_mg == pytest.approx(20 * 453_592.37, abs=2)


def test_a_seasonal_addition_of_just_what_was_removed_gives_no_row():
    facts = [
        removed("2026-01-01", 60, reason="seasonal_variance"),
        added("2026-04-01", 60, reason="seasonal_variance"),
    ]

    assert rates(facts) == ()


TESTED = [repaired("2026-03-01"), initial_test("2026-03-01")]


def test_additions_listed_before_the_follow_up_test_of_their_day_belong_to_the_old_window():
    before = [added("2026-02-01", 12), *TESTED, added("2026-03-05", 3), follow_up("2026-03-05")]
    after = [added("2026-02-01", 12), *TESTED, follow_up("2026-03-05"), added("2026-03-05", 3)]

    assert rates(before, **ROLLING)[-1].percent_rounded == 15
    assert (rates(after, **ROLLING)[-1].percent_rounded, rates(after, **ROLLING)[-1].days) == (3, 1)


@pytest.mark.parametrize(
    "test", [follow_up("2026-03-05", passed=False), follow_up("2026-03-05", all_leaks=False)]
)
def test_no_other_follow_up_test_begins_a_new_window(test):
    facts = [added("2026-02-01", 12), *TESTED, test, added("2026-04-01", 3)]

    assert rates(facts, **ROLLING)[-1].percent_rounded == 15


def test_a_follow_up_test_of_one_of_two_named_leaks_begins_no_new_window():
    named = [
        added("2026-02-01", 12, leak="x"),
        repaired("2026-02-02", leak="x"),
        repaired("2026-02-02", leak="y"),
    ]
    one = [*named, follow_up("2026-03-05", leak="x")]

    assert rates([*one, added("2026-04-01", 3)], **ROLLING)[-1].percent_rounded == 15
    assert (
        rates([*one, follow_up("2026-03-06", leak="y"), added("2026-04-01", 3)], **ROLLING)[
            -1
        ].percent_rounded
        == 3
    )


def test_the_follow_up_test_changes_no_annualized_interval():
    facts = [added("2026-02-01", 12), *TESTED, follow_up("2026-03-05"), added("2026-04-01", 3)]

    assert rates(facts)[-1].days == 59


def test_only_the_first_calculation_of_84_106_takes_365_days():
    facts = [added("2026-02-01", 1), added("2026-02-11", 1)]

    assert [rate.days for rate in ask(facts).leak_rates] == [365, 10]


def test_each_addition_uses_the_charge_in_force():
    change = fact("full_charge_change", "2026-04-01", full_charge=lb(50), method="calculated")
    facts = [added("2026-03-01", 5), change, added("2026-04-01", 5)]

    first, second = rates(facts, **ROLLING)

    assert (first.percent_rounded, second.percent_rounded) == (5, 20)
    assert policy.CHARGE_IN_FORCE.sentence in second.because


def test_rows_are_sorted_by_day_then_given_order_then_rule():
    facts = [
        added("2026-03-02", 1, event="B"),
        added("2026-03-01", 2, event="Z"),
        added("2026-03-02", 3, event="A"),
    ]

    order = [(str(rate.on), rate.event, rate.rule) for rate in ask(facts, refrigerant="R-402A").leak_rates]

    assert order == [
        (on, event, rule)
        for on, event in (("2026-03-01", "Z"), ("2026-03-02", "B"), ("2026-03-02", "A"))
        for rule in (HFC, ODS)
    ]


def test_earlier_rows_are_not_rewritten_by_later_facts():
    facts = [added("2026-03-01", 4, leak="x")]
    more = [*facts, added("2026-03-05", 6, leak="x"), follow_up(days_after("2026-03-05", 5))]

    assert rates(facts)[0] == rates(more)[0]


def test_the_percentage_is_rounded_half_even_and_never_compared():
    # 10 kg of 8 t are exactly 0.125 %.
    (rate,) = rates([grams("2026-03-01", 10_000_000)], full_charge=mg(8_000_000_000), installed_on=None)

    assert rate.percent_rounded == Decimal("0.12")


@pytest.mark.parametrize(("on", "rates"), [("2028-02-28", 0), ("2028-02-29", 1)])
def test_the_twelve_months_of_a_season_end_before_a_leap_day(on, rates):
    facts = [
        removed("2027-02-28", 10, reason="seasonal_variance"),
        added(on, 10, reason="seasonal_variance"),
    ]

    assert len(ask(facts, as_of="2028-03-01").leak_rates) == rates
