import random
from itertools import pairwise

import pytest

from jobs.physics.equations import Equation, coolprop_version
from jobs.physics.fluids import Model, all_fluids, find
from jobs.physics.saturation_table import INTERPOLATION_DOUBT, saturation_rows, saturation_table
from jobs.physics.table_computation import compute_table

ROWS = saturation_rows()
TABLED = list(dict.fromkeys(row.refrigerant for row in ROWS))
# Every model is in the sample, blends with holes in the solver's range and an azeotrope joined from its components too.
SAMPLE = ["R-744", "R-410A", "R-407F", "R-452B", "R-438A", "R-516A", *random.Random(20).sample(TABLED, 6)]


def _assert_table_is_what_coolprop_computes(designations):
    fluids = [fluid for fluid in all_fluids() if fluid.designation in designations]
    computed = list(compute_table(fluids))
    tabled = [row for row in ROWS if row.refrigerant in designations]

    assert [(row.refrigerant, row.temperature_c) for row in computed] == [
        (row.refrigerant, row.temperature_c) for row in tabled
    ]
    for ours, theirs in zip(tabled, computed, strict=True):
        assert ours.liquid_density_kg_m3 == pytest.approx(theirs.liquid_density_kg_m3, rel=1e-5), ours
        assert ours.model == theirs.model
        assert ours.accuracy == theirs.accuracy
        if ours.model is not Model.ESTIMATED:
            assert ours.bubble_pressure_kpa == pytest.approx(theirs.bubble_pressure_kpa, rel=1e-5), ours
            assert ours.dew_pressure_kpa == pytest.approx(theirs.dew_pressure_kpa, rel=1e-5), ours


def test_sampled_rows_are_what_coolprop_computes():
    _assert_table_is_what_coolprop_computes(SAMPLE)


@pytest.mark.proof
def test_all_rows_are_what_coolprop_computes():
    _assert_table_is_what_coolprop_computes(TABLED)


def test_every_refrigerant_that_is_liquid_at_60_c_has_its_three_temperatures():
    for fluid in all_fluids():
        if fluid.is_liquid_at(60):
            densities = saturation_table(fluid)
            assert {25.0, 50.0, 60.0} <= set(densities.temperatures_c), fluid.designation


def test_table_names_the_installed_version():
    assert {row.coolprop_version for row in ROWS} == {coolprop_version()}


def test_estimated_rows_are_marked_and_state_no_pressure():
    estimated = [row for row in ROWS if row.model is Model.ESTIMATED]

    assert {row.refrigerant for row in estimated} >= {"R-401A", "R-402A", "R-408A", "R-409A", "R-438A"}
    assert all(row.bubble_pressure_kpa is row.dew_pressure_kpa is None for row in estimated)


@pytest.mark.parametrize("designation", TABLED)
def test_density_falls_with_temperature(designation):
    densities = saturation_table(find(designation)).densities_kg_m3

    assert list(densities) == sorted(densities, reverse=True)


@pytest.mark.parametrize("designation", ["R-22", "R-410A", "R-125", "R-744", "R-454B", "R-123", "R-290"])
def test_temperature_of_a_density_is_within_0_02_k(designation):
    fluid = find(designation)
    equation = Equation(fluid)
    lowest_c = -18
    for step in range(40):
        temperature_c = lowest_c + (min(fluid.highest_c, 140) - lowest_c) * step / 40
        density = equation.saturated_liquid(temperature_c).density_kg_m3

        assert saturation_table(fluid).temperature_c(density) == pytest.approx(temperature_c, abs=0.02)


def _assert_interpolation_is_the_equation(designations, least_c=-90):
    """Half-way between the rows, where interpolation is at its worst."""
    for designation in designations:
        fluid = find(designation)
        equation, table = Equation(fluid), saturation_table(fluid)
        for cold_c, hot_c in pairwise(table.temperatures_c):
            middle_c = (cold_c + hot_c) / 2
            if middle_c < least_c:
                continue
            state = table.state(middle_c)
            liquid, vapour = equation.saturated_liquid(middle_c), equation.saturated_vapour(middle_c)
            found = (
                state.bubble_pa,
                state.dew_pa,
                state.liquid_density_kg_m3,
                state.vapour_density_kg_m3,
            )
            expected = (
                liquid.pressure_pa,
                vapour.pressure_pa,
                liquid.density_kg_m3,
                vapour.density_kg_m3,
            )
            assert found == pytest.approx(expected, rel=INTERPOLATION_DOUBT), (designation, middle_c)


KNOWN = [fluid.designation for fluid in all_fluids() if not fluid.is_estimated]


def test_what_lies_between_rows_is_within_0_05_pct_of_the_equation():
    _assert_interpolation_is_the_equation([*("R-410A", "R-454C", "R-744", "R-503"), *random.sample(KNOWN, 6)])


@pytest.mark.proof
def test_what_lies_between_all_rows_is_within_0_05_pct_of_the_equation():
    _assert_interpolation_is_the_equation(KNOWN)


@pytest.mark.parametrize("designation", ["R-22", "R-454C", "R-744"])
def test_temperature_of_a_pressure_is_the_inverse(designation):
    table = saturation_table(find(designation))
    for temperature_c in (table.temperatures_c[0], -40.0, 3.2, 21.7):
        state = table.state(max(temperature_c, table.temperatures_c[0]))

        assert table.bubble_temperature_c(state.bubble_pa) == pytest.approx(
            max(temperature_c, table.temperatures_c[0]), abs=1e-6
        )
        assert table.dew_temperature_c(state.dew_pa) == pytest.approx(
            max(temperature_c, table.temperatures_c[0]), abs=1e-6
        )


def test_states_beyond_the_table_or_of_an_estimated_blend_are_not_known():
    table = saturation_table(find("R-22"))

    assert table.state(-120) is table.state(200) is None
    assert table.bubble_temperature_c(1.0) is table.dew_temperature_c(1e9) is None
    assert saturation_table(find("R-438A")).state(25) is None
    assert saturation_table(find("R-438A")).bubble_temperature_c(500_000) is None


def test_temperature_of_a_density_beyond_the_table_is_not_known():
    densities = saturation_table(find("R-22"))

    assert densities.temperature_c(5000) is None
    assert densities.temperature_c(1) is None
