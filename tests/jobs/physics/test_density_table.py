import random

import pytest

from jobs.physics.density_computation import compute_table
from jobs.physics.density_table import density_rows, liquid_densities
from jobs.physics.equations import Equation, coolprop_version
from jobs.physics.fluids import Model, all_fluids, find
from jobs.physics.saturation import saturation_at_temperature

ROWS = density_rows()
LIMITED = list(dict.fromkeys(row.refrigerant for row in ROWS))
# Every model is in the sample, blends with holes in the solver's range and an azeotrope joined from its components too.
SAMPLE = ["R-744", "R-410A", "R-407F", "R-452B", "R-438A", "R-516A", *random.Random(20).sample(LIMITED, 6)]


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
    _assert_table_is_what_coolprop_computes(LIMITED)


def test_every_refrigerant_that_is_liquid_at_60_c_has_its_three_temperatures():
    for fluid in all_fluids():
        if fluid.is_liquid_at(60):
            densities = liquid_densities(fluid)
            assert {25.0, 50.0, 60.0} <= set(densities.temperatures_c), fluid.designation


def test_table_names_the_installed_version():
    assert {row.coolprop_version for row in ROWS} == {coolprop_version()}


def test_estimated_rows_are_marked_and_state_no_pressure():
    estimated = [row for row in ROWS if row.model is Model.ESTIMATED]

    assert {row.refrigerant for row in estimated} >= {"R-401A", "R-402A", "R-408A", "R-409A", "R-438A"}
    assert all(row.bubble_pressure_kpa is row.dew_pressure_kpa is None for row in estimated)


@pytest.mark.parametrize("designation", LIMITED)
def test_density_falls_with_temperature(designation):
    densities = liquid_densities(find(designation)).densities_kg_m3

    assert list(densities) == sorted(densities, reverse=True)


@pytest.mark.parametrize("designation", ["R-22", "R-410A", "R-125", "R-744", "R-454B", "R-123", "R-290"])
def test_temperature_of_a_density_is_within_0_02_k(designation):
    fluid = find(designation)
    equation = Equation(fluid)
    lowest_c = -18
    for step in range(40):
        temperature_c = lowest_c + (min(fluid.highest_c, 140) - lowest_c) * step / 40
        density = equation.saturated_liquid(temperature_c).density_kg_m3

        assert liquid_densities(fluid).temperature_c(density) == pytest.approx(temperature_c, abs=0.02)


@pytest.mark.parametrize("designation", ["R-22", "R-410A", "R-407C", "R-454B", "R-744"])
def test_interpolated_pressures_are_within_0_02_pct(designation):
    fluid = find(designation)
    for step in range(40):
        temperature_c = -18 + (min(fluid.highest_c, 80) + 18) * step / 40
        saturation = saturation_at_temperature(designation, temperature_c)

        pressures = liquid_densities(fluid).pressures_pa(temperature_c)

        expected = (saturation.bubble.pressure_pa, saturation.dew.pressure_pa)
        assert pressures == pytest.approx(expected, rel=2e-4)


def test_pressures_beyond_the_table_or_of_an_estimated_blend_are_not_known():
    assert liquid_densities(find("R-22")).pressures_pa(-30) is None
    assert liquid_densities(find("R-22")).pressures_pa(200) is None
    assert liquid_densities(find("R-438A")).pressures_pa(25) is None


def test_temperature_of_a_density_beyond_the_table_is_not_known():
    densities = liquid_densities(find("R-22"))

    assert densities.temperature_c(5000) is None
    assert densities.temperature_c(1) is None
