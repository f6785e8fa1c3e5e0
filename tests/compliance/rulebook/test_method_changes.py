"""A change of the leak rate method holds from its day on, under the rule that knows changes (40 CFR 84.106(b)(3))."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.compliance.rulebook.scenario import ODS, added, ask, days_after, fact

FIRST, SECOND, THIRD = "2026-02-02", "2026-06-02", "2026-08-01"


def _changed(on, to="rolling_average"):
    return fact("leak_rate_method_change", on, leak_rate_method=to)


def _rates(facts, **keys):
    return [(str(rate.on), rate.method.value, rate.percent_rounded) for rate in ask(facts, **keys).leak_rates]


def test_each_addition_is_calculated_by_the_method_of_its_day():
    # Reckoned by hand with the formulas of 40 CFR 82.152: 2 lb in the first calculation's 365 days (84.106(b)(1)), 1 lb
    # in the 120 days since; then 2 + 1 + 3 lb in the 365 days to the third addition.
    facts = [added(FIRST, 2), added(SECOND, 1), _changed("2026-07-01"), added(THIRD, 3)]

    assert _rates(facts) == [
        (FIRST, "annualizing", Decimal("2.00")),
        (SECOND, "annualizing", Decimal("3.04")),
        (THIRD, "rolling_average", Decimal("6.00")),
    ]


def test_changed_the_other_way_the_days_since_the_last_addition_count():
    facts = [added(FIRST, 2), _changed("2026-07-01", "annualizing"), added(THIRD, 3)]

    # 3 / 100 x 365 / 180 days.
    assert _rates(facts, leak_rate_method="rolling_average") == [
        (FIRST, "rolling_average", Decimal("2.00")),
        (THIRD, "annualizing", Decimal("6.08")),
    ]


@pytest.mark.parametrize(
    ("changed_on", "method"),
    [
        (days_after(THIRD, -1), "rolling_average"),
        (THIRD, "rolling_average"),
        (days_after(THIRD, 1), "annualizing"),
    ],
)
def test_it_holds_from_its_day_on(changed_on, method):
    # The day itself is the portal's own choice: 84.106(l)(3) asks for the day of adoption, and no more.
    facts = [added(FIRST, 2), _changed(changed_on), added(THIRD, 3)]

    assert _rates(facts)[-1][1] == method


def test_the_headroom_is_by_the_method_of_the_day_asked_about():
    facts = [added(FIRST, 2), _changed("2026-07-01")]

    # 10 % of 100 lb, less the 2 lb of the last 365 days: 40 CFR 84.106(c)(2).
    assert ask(facts, as_of="2026-08-01").headroom.mass_mg == 3_628_738
    assert "already counted" in ask(facts, as_of="2026-08-01").headroom.because
    assert "already counted" not in ask(facts, as_of="2026-06-30").headroom.because


def test_the_reason_says_that_the_method_was_changed():
    facts = [added(FIRST, 2), _changed("2026-07-01"), added(THIRD, 3)]

    first, last = ask(facts).leak_rates
    assert "changed method" not in first.because
    assert "holds from the day of the change on" in last.because


def test_the_rule_for_ozone_depleting_refrigerants_knows_no_change():
    # 40 CFR 82.157 has no paragraph like 84.106(b)(3), as read in the eCFR copy of 2026-09-25.
    facts = [added("2025-02-02", 2), _changed("2026-07-01"), added(THIRD, 3)]

    answer = ask(facts, refrigerant="R-22")

    assert {(rate.rule, rate.method.value) for rate in answer.leak_rates} == {(ODS, "annualizing")}
    assert any("has no effect here" in warning for warning in answer.warnings)


@given(
    st.sampled_from(["annualizing", "rolling_average"]),
    st.lists(st.tuples(st.integers(0, 250), st.integers(1, 9)), min_size=1, max_size=6),
)
def test_a_change_to_the_method_in_force_changes_no_figure(method, additions):
    facts = [added(days_after("2026-01-02", days), pounds) for days, pounds in additions]

    asked = {"leak_rate_method": method, "as_of": "2026-12-31"}
    assert _rates([*facts, _changed("2026-05-05", method)], **asked) == _rates(facts, **asked)


@given(
    st.lists(st.tuples(st.integers(0, 250), st.integers(1, 9)), min_size=1, max_size=6), st.integers(0, 250)
)
def test_before_its_day_the_former_method_gives_all_figures_and_from_it_on_the_other(additions, changed):
    facts = [added(days_after("2026-01-02", days), pounds) for days, pounds in additions]
    changed_on = days_after("2026-01-02", changed)

    mixed = _rates([_changed(changed_on), *facts], as_of="2026-12-31")

    by_method = {
        method: _rates(facts, as_of="2026-12-31", leak_rate_method=method)
        for method in ("annualizing", "rolling_average")
    }
    expected = [
        rolling if rolling[0] >= changed_on else annualized
        for annualized, rolling in zip(by_method["annualizing"], by_method["rolling_average"], strict=True)
    ]
    assert mixed == expected
