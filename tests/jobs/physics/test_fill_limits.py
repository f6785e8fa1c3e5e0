from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.physics.errors import InvalidInput
from jobs.physics.fill_limits import (
    MIXED_SHARE,
    max_net_mg,
    mixed_max_net_mg,
    supplied_doubts,
    supplied_max_net_mg,
)
from jobs.physics.fill_rules import OWN, SUPPLIED, FillRule, fill_rules
from jobs.physics.fluids import all_fluids

WATER_KG_M3 = Decimal("997.05")
ONE_LITRE_OF_WATER_MG = 997_050


def _limited() -> list[str]:
    limited = []
    for fluid in all_fluids():
        try:
            max_net_mg(fluid.designation, ONE_LITRE_OF_WATER_MG)
        except InvalidInput:
            continue
        limited.append(fluid.designation)
    return limited


LIMITED = _limited()
designations = st.sampled_from(LIMITED)
capacities = st.integers(min_value=1, max_value=10**12)


@pytest.mark.parametrize(
    ("refrigerant", "kg_per_litre", "governed_by"),
    [
        ("R-22", 0.953, "80 % at 25 °C"),
        ("R-134a", 0.965, "80 % at 25 °C"),
        ("R-32", 0.769, "80 % at 25 °C"),
        ("R-410A", 0.815, "100 % at 60 °C"),
        ("R-404A", 0.813, "100 % at 60 °C"),
        ("R-507A", 0.806, "100 % at 60 °C"),
        ("R-452A", 0.893, "100 % at 60 °C"),
        ("R-407F", 0.894, "80 % at 25 °C"),
        ("R-452B", 0.796, "80 % at 25 °C"),
        ("R-454B", 0.789, "80 % at 25 °C"),
        ("R-125", 0.872, "100 % at 60 °C"),
        ("R-290", 0.394, "80 % at 25 °C"),
    ],
)
def test_limit_is_the_least_of_three(refrigerant, kg_per_litre, governed_by):
    limit = max_net_mg(refrigerant, ONE_LITRE_OF_WATER_MG)

    assert limit.max_net_mg / 1e6 == pytest.approx(kg_per_litre, abs=0.0006)
    assert limit.governed_by == governed_by
    assert limit.liquid_full_at_c >= 60.0


def test_limit_rounds_down_to_the_milligram():
    # 0.8 × 1190.654 kg/m³ × 1 L is 952 523.2 mg.
    assert max_net_mg("R-22", ONE_LITRE_OF_WATER_MG).max_net_mg == 952_523


def test_fluid_without_liquid_at_60_c_is_limited_by_its_listed_density():
    limit = max_net_mg("R-744", 100_000_000)

    assert limit.max_net_mg == 68_000_000
    assert "173.304a(a)(2)" in limit.governed_by
    assert "service pressure" in limit.caution


@pytest.mark.parametrize("refrigerant", ["R-23", "R-116", "R-503", "R-508B"])
def test_fluid_without_liquid_at_60_c_and_without_listed_density_is_refused(refrigerant):
    with pytest.raises(InvalidInput) as refused:
        max_net_mg(refrigerant, ONE_LITRE_OF_WATER_MG)

    assert refused.value.field == "refrigerant"
    assert refused.value.value == refrigerant


def test_estimated_blend_is_marked_and_reduced():
    limit = max_net_mg("R-438A", ONE_LITRE_OF_WATER_MG)

    assert limit.is_estimated
    assert "less 4 %" in limit.because
    assert limit.max_net_mg == int(Fraction("0.8") * Fraction("0.96") * Fraction("1147.018") * 1000)


@pytest.mark.parametrize("capacity", [0, -1, True, 1.5, None])
def test_water_capacity_that_is_not_above_zero_is_refused(capacity):
    with pytest.raises(InvalidInput) as refused:
        max_net_mg("R-22", capacity)

    assert refused.value.field == "water_capacity"


@pytest.mark.parametrize("designation", ["R-999Z", "", None, 22, "R-13B1"])
def test_unknown_refrigerant_is_refused(designation):
    with pytest.raises(InvalidInput) as refused:
        max_net_mg(designation, ONE_LITRE_OF_WATER_MG)

    assert refused.value.field == "refrigerant"


def test_no_refrigerant_at_all_is_refused():
    with pytest.raises(InvalidInput):
        mixed_max_net_mg([], ONE_LITRE_OF_WATER_MG)


def test_same_refrigerant_twice_is_not_a_mixture():
    once = max_net_mg("R-22", ONE_LITRE_OF_WATER_MG)

    assert mixed_max_net_mg(["R-22", "R22"], ONE_LITRE_OF_WATER_MG) == once


def test_mixture_gets_99_pct_of_the_least_dense():
    mixed = mixed_max_net_mg(["R-22", "R-134a", "R-32"], ONE_LITRE_OF_WATER_MG)

    assert mixed.max_net_mg == int(Fraction("0.99") * Fraction("0.8") * Fraction("961.008") * 1000)
    assert "reclamation" in mixed.caution


# Saturated liquid at 55 °C, kg/m³: 1081 for R-22, 1078 for R-134a, 865 for R-410A (ASHRAE Handbook Fundamentals,
# chapter 30, from memory). R-22 goes by its listed 105 % of the water, R-744 by its 68 % (49 CFR 173.304a(a)(2)).
@pytest.mark.parametrize(
    ("refrigerant", "kg_per_litre"),
    [("R-22", 1.0469), ("R-134a", 1.078), ("R-410A", 0.865), ("R-744", 0.678)],
)
def test_supplier_fills_up_to_liquid_at_55_c_or_the_listed_density(refrigerant, kg_per_litre):
    supplied_mg = supplied_max_net_mg(refrigerant, ONE_LITRE_OF_WATER_MG)

    assert supplied_mg / 1e6 == pytest.approx(kg_per_litre, rel=0.002)


@pytest.mark.parametrize(("refrigerant", "capacity"), [("R-23", ONE_LITRE_OF_WATER_MG), ("R-22", 0)])
def test_supplied_limit_is_refused_where_none_is_known(refrigerant, capacity):
    with pytest.raises(InvalidInput):
        supplied_max_net_mg(refrigerant, capacity)


@settings(max_examples=100)
@given(designation=designations, capacity=capacities)
def test_supplier_may_always_fill_what_we_may(designation, capacity):
    assert max_net_mg(designation, capacity).max_net_mg <= supplied_max_net_mg(designation, capacity)


@settings(max_examples=100)
@given(designation=designations, smaller=capacities, larger=capacities)
def test_limit_grows_with_the_capacity(designation, smaller, larger):
    smaller, larger = sorted((smaller, larger))

    assert max_net_mg(designation, smaller).max_net_mg <= max_net_mg(designation, larger).max_net_mg


@settings(max_examples=100)
@given(parts=st.lists(designations, min_size=2, max_size=5, unique=True), capacity=capacities)
def test_mixture_never_exceeds_any_single_one(parts, capacity):
    mixed = mixed_max_net_mg(parts, capacity)

    assert all(
        mixed.max_net_mg <= MIXED_SHARE * (max_net_mg(part, capacity).max_net_mg + 1) for part in parts
    )
    assert mixed == mixed_max_net_mg(parts, capacity)


@settings(max_examples=100)
@given(designation=designations, capacity=capacities)
def test_limit_leaves_vapour_room_at_60_c(designation, capacity):
    limit = max_net_mg(designation, capacity)

    assert limit.liquid_full_at_c is not None
    if "173.304a" not in limit.governed_by:
        assert limit.liquid_full_at_c >= 59.9


def test_a_limit_says_which_rules_behind_it_are_from_memory():
    """The density of R-152a in 49 CFR 173.304a(a)(2) is; that of R-22 and the shares of our own filling were read."""
    doubt = "49 CFR 173.304a(a)(2) (filling density of R-152a, 79 %)"

    assert max_net_mg("R-22", 50_000_000).doubts == ()
    assert max_net_mg("R-152a", 50_000_000).doubts == (doubt,)
    assert mixed_max_net_mg(["R-22", "R-152a"], 50_000_000).doubts == (doubt,)
    # Liquid full at 131 °F: 49 CFR 173.304(b), not read.
    assert supplied_doubts("R-22") == ("49 CFR 173.304(b) (100 % at 55 °C)",)


def test_the_shares_are_those_of_guideline_k_and_of_adr():
    """AHRI Guideline K-2004; ADR 4.3.3.2.2; 49 CFR 173.304(b), from memory."""
    assert [(rule.at_c, rule.liquid_share_pct) for rule in fill_rules(OWN)] == [(25, 80), (50, 95), (60, 100)]
    assert [(rule.at_c, rule.liquid_share_pct) for rule in fill_rules(SUPPLIED)] == [(55, 100)]


@pytest.mark.parametrize(
    ("on", "share_pct"),
    [(date(1999, 1, 1), 95), (date(2029, 12, 31), 95), (date(2030, 1, 1), 90), (None, 90)],
)
def test_the_rules_of_the_day_of_the_filling_count(on, share_pct):
    rows = (*fill_rules(OWN), FillRule(OWN, 50, 90, date(2030, 1, 1), "another edition", "C", ""))

    assert [(rule.at_c, rule.liquid_share_pct) for rule in fill_rules(OWN, on, rows)] == [
        (25, 80),
        (50, share_pct),
        (60, 100),
    ]
