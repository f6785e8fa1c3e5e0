"""The look ahead: exact threshold mass less what already counts, rounded down, never below zero."""

import pytest

from tests.compliance.rulebook.scenario import added, ask, follow_up, initial_test, mg, repaired


def room(facts, **keys):
    return ask(facts, **keys).headroom.mass_mg


def test_annualizing_allows_by_the_days_since_the_last_addition():
    # 60 lb are 27 215 542 mg; 10 % × 183 / 365 of them 1 364 505.26 mg.
    assert room([added("2026-03-02", 7)], full_charge=60, as_of="2026-09-01") == 1_364_505


@pytest.mark.parametrize(
    ("as_of", "days"),
    [("2026-03-02", 1), ("2026-03-03", 1), ("2026-03-04", 2), ("2027-03-02", 365), ("2028-03-02", 365)],
)
def test_the_interval_is_a_day_at_least_and_a_year_at_most(as_of, days):
    assert room([added("2026-03-02", 7)], full_charge=mg(36_500_000), as_of=as_of) == 10_000 * days


def test_the_first_calculation_of_84_106_has_a_whole_year():
    assert room([added("2025-12-20", 7)], full_charge=mg(36_500_000), as_of="2026-01-05") == 3_650_000


def test_82_157_counts_from_installation():
    assert room([], refrigerant="R-22", full_charge=mg(36_500_000), installed_on="2026-08-02") == 30 * 10_000


def test_rolling_takes_off_what_the_window_holds():
    asked = {"leak_rate_method": "rolling_average", "full_charge": mg(50_000_000), "refrigerant": "R-22"}
    grams = [{"on": "2025-09-02", "kind": "addition", "mass": mg(3_000_000)}]

    assert room(grams, as_of="2026-09-01", **asked) == 2_000_000
    assert room(grams, as_of="2026-09-02", **asked) == 5_000_000
    assert room([*grams, added("2026-08-01", 9)], as_of="2026-09-01", **asked) == 0


def test_a_passed_follow_up_test_frees_the_window():
    asked = {"leak_rate_method": "rolling_average", "refrigerant": "R-22"}
    facts = [
        added("2026-03-01", 12),
        repaired("2026-03-02"),
        initial_test("2026-03-02"),
        follow_up("2026-03-05"),
    ]

    assert room(facts, as_of="2026-03-05", **asked) == 4_535_923


def test_with_two_rules_the_smaller_room_counts():
    # 84.106 would allow a whole year at its first calculation, 82.157 the days since installation.
    asked = {"refrigerant": "R-402A", "full_charge": mg(36_500_000), "installed_on": "2026-08-22"}

    answer = ask([], **asked)

    assert answer.headroom.mass_mg == 10 * 10_000
    assert "82.157" in answer.headroom.because


@pytest.mark.parametrize(
    "keys",
    [
        {"full_charge": 14},
        {"rules": ("eu",)},
        {"as_of": "2025-12-31"},
        {"residential_or_light_commercial": True},
    ],
)
def test_without_a_threshold_there_is_none(keys):
    assert room([], **keys) is None


def test_the_threshold_is_the_category_s():
    assert room([], full_charge=mg(1_000_000_000), category="industrial_process_refrigeration") == 300_000_000
