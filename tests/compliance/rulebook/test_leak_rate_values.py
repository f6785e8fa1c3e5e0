"""Leak rates worked by hand with exact fractions from the formulas of 40 CFR 82.152 (*Leak rate*) and 84.106(b).

No numeric example is printed in the law; the figures are our own, to be redone with a pocket calculator.
"""

from decimal import Decimal
from fractions import Fraction

import pytest

from tests.compliance.rulebook.scenario import (
    HFC,
    ODS,
    added,
    ask,
    days_before,
    follow_up,
    only,
    removed,
    rows,
)

CATEGORIES = {
    10: "comfort_cooling",
    20: "commercial_refrigeration",
    30: "industrial_process_refrigeration",
}


@pytest.mark.parametrize(
    ("pounds", "charge", "days", "percent", "over"),
    [
        (10, 100, 180, "20.28", {10, 20}),
        (90, 300, 365, "30.00", {10, 20}),
        (12, 60, 400, "20.00", {10}),
        (8, 80, 30, "121.67", {10, 20, 30}),
        (5, 200, 60, "15.21", {10}),
        (10, 100, 182, "20.05", {10, 20}),
        (10, 100, 183, "19.95", {10}),
        (9, 95, 200, "17.29", {10}),
    ],
)
@pytest.mark.parametrize("threshold", CATEGORIES)
def test_annualizing_gives_the_hand_worked_rate(pounds, charge, days, percent, over, threshold):
    before = added(days_before("2026-06-01", days), 1, reason="installation")

    answer = ask(
        [before, added("2026-06-01", pounds)],
        refrigerant="R-22",
        full_charge=charge,
        category=CATEGORIES[threshold],
    )

    (rate,) = answer.leak_rates
    assert rate.rule == ODS
    assert rate.percent_rounded == Decimal(percent)
    assert rate.threshold_pct == threshold
    assert rate.exceeds == (threshold in over)


def test_additions_for_one_leak_are_summed_over_the_interval_to_the_first_of_them():
    facts = [
        added("2025-11-02", 1),
        added("2026-05-01", 4, leak="valve"),
        added("2026-05-04", 6, leak="valve"),
    ]

    *_, first, second = ask(facts, refrigerant="R-22", full_charge=120).leak_rates

    assert (first.days, first.percent_rounded) == (180, Decimal("6.76"))
    assert (second.days, second.percent_rounded) == (180, Decimal("16.90"))


def test_two_additions_days_apart_for_different_leaks_stand_alone():
    facts = [added("2025-11-02", 1), added("2026-05-01", 4), added("2026-05-04", 6)]

    rate = ask(facts, refrigerant="R-22", full_charge=120).leak_rates[-1]

    assert (rate.days, rate.percent_rounded) == (3, Decimal("608.33"))


def test_first_calculation_of_84_106_takes_365_days_though_fewer_have_passed():
    answer = ask([added("2025-12-01", 1), added("2026-02-10", 12)])

    (rate,) = answer.leak_rates
    assert (rate.days, rate.percent_rounded) == (365, Decimal("12.00"))
    assert "84.106(b)(1)" in rate.because


def test_recovered_and_returned_in_one_event_counts_by_its_net():
    facts = [
        added("2026-01-01", 1),
        removed("2026-03-15", 92, event="A"),
        added("2026-03-15", 100, event="A"),
    ]

    rate = ask(facts, refrigerant="R-22").leak_rates[-1]

    assert (rate.days, rate.percent_rounded) == (73, Decimal("40.00"))


@pytest.mark.parametrize(("year", "days", "percent"), [(2028, 19, "38.42"), (2027, 18, "40.56")])
def test_days_are_calendar_days_and_the_divisor_stays_365_in_a_leap_year(year, days, percent):
    facts = [added(f"{year}-02-20", 1), added(f"{year}-03-10", 3)]

    rate = ask(facts, refrigerant="R-22", full_charge=150, as_of="2029-01-01").leak_rates[-1]

    assert (rate.days, rate.percent_rounded) == (days, Decimal(percent))


def test_seasonal_addition_counts_only_what_exceeds_the_seasonal_removal():
    facts = [
        removed("2026-01-01", 60, reason="seasonal_variance"),
        added("2026-03-15", 1, reason="installation"),
        added("2026-10-01", 75, reason="seasonal_variance"),
    ]

    (rate,) = ask(facts, refrigerant="R-22", full_charge=300, as_of="2026-10-01").leak_rates

    assert rate.days == 200
    assert abs(rate.percent - Fraction(9125, 1000)) < Fraction(1, 1_000_000)


ROLLING = {"leak_rate_method": "rolling_average", "full_charge": 200}
THREE = [added("2025-07-01", 15), added("2026-01-15", 10), added("2026-06-20", 12)]


def test_rolling_sums_the_365_days():
    rate = ask(THREE, refrigerant="R-22", **ROLLING).leak_rates[-1]

    assert (rate.days, rate.percent_rounded) == (365, Decimal("18.50"))


def test_rolling_drops_what_is_older_than_the_window():
    rate = ask([*THREE, added("2026-07-05", 5)], refrigerant="R-22", **ROLLING).leak_rates[-1]

    assert rate.percent_rounded == Decimal("13.50")


def test_rolling_begins_anew_at_a_passed_follow_up_test_of_all_leaks():
    rate = ask([*THREE, follow_up("2026-02-01")], refrigerant="R-22", **ROLLING).leak_rates[-1]

    assert rate.percent_rounded == Decimal("6.00")


def test_rolling_first_calculation_of_84_106_counts_from_2026_and_later_ones_reach_back():
    first, later = ask(THREE, **ROLLING).leak_rates

    assert (first.rule, first.percent_rounded) == (HFC, Decimal("5.00"))
    assert later.percent_rounded == Decimal("18.50")


def test_chronic_leak_is_reported_by_1_march_of_the_year_after():
    facts = [added("2026-02-01", 50), added("2026-05-01", 40), added("2026-08-01", 35)]

    row = only(ask(facts), "chronic_leak_report")

    assert (str(row.opened_on), str(row.due_on)) == ("2026-08-01", "2027-03-01")


def test_chronic_leak_counts_calendar_years_apart():
    facts = [added("2026-11-15", 30), added("2026-12-15", 30), added("2027-01-15", 70)]

    answer = ask(facts, as_of="2027-12-31", leak_rate_method="rolling_average")

    assert rows(answer, "chronic_leak_report") == []
    assert answer.leak_rates[-1].percent_rounded == Decimal("130.00")
