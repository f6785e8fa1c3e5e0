import math
import threading

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.physics.errors import InvalidInput
from jobs.physics.fluids import all_fluids, find
from jobs.physics.saturation import saturation_at_pressure, saturation_at_temperature

# Blends whose mixture solver fails somewhere between 40 and 70 °C, and where (0.5 K sweep, CoolProp 8.0.0).
HOLES = [("R-407F", 54), ("R-407H", 56), ("R-452B", 56), ("R-454B", 57.5), ("R-466A", 58), ("R-452A", 58.25)]

solvable = st.sampled_from([fluid for fluid in all_fluids() if not fluid.is_estimated])


@st.composite
def fluids_and_temperatures(draw):
    fluid = draw(solvable)
    temperature_c = draw(st.floats(min_value=max(fluid.lowest_c, -60), max_value=fluid.highest_c))
    return fluid, temperature_c


@settings(max_examples=40, deadline=None)
@given(case=fluids_and_temperatures())
def test_bubble_pressure_is_never_below_dew_pressure(case):
    fluid, temperature_c = case

    saturation = saturation_at_temperature(fluid.designation, temperature_c)

    assert saturation.bubble.pressure_pa >= saturation.dew.pressure_pa * (1 - 1e-6)
    assert saturation.liquid_density_kg_m3 > saturation.vapour_density_kg_m3


@settings(max_examples=30, deadline=None)
@given(case=fluids_and_temperatures())
def test_pressure_and_temperature_are_each_others_inverse(case):
    fluid, temperature_c = case
    at_temperature = saturation_at_temperature(fluid.designation, temperature_c)
    try:
        at_bubble = saturation_at_pressure(fluid.designation, at_temperature.bubble.pressure_pa)
    except InvalidInput:
        # The dew point at this pressure lies beyond the range, though its bubble point doesn't.
        return

    assert at_bubble.bubble.temperature_c == pytest.approx(temperature_c, abs=1e-4)
    assert at_bubble.liquid_density_kg_m3 == pytest.approx(at_temperature.liquid_density_kg_m3, rel=1e-5)


@pytest.mark.parametrize(("designation", "temperature_c"), HOLES)
def test_holes_of_the_solver_are_bridged_smoothly(designation, temperature_c):
    def at(offset_k):
        saturation = saturation_at_temperature(designation, temperature_c + offset_k)
        return math.log(saturation.bubble.pressure_pa), saturation.liquid_density_kg_m3

    far_below, below, above, far_above = (at(offset_k) for offset_k in (-12, -6, 6, 12))
    pressure_log, density = at(0)

    # A cubic through four neighbours: it misses by the curve's own fourth differences, which are of this size.
    expected = [
        (-a + 4 * b + 4 * c - d) / 6 for a, b, c, d in zip(far_below, below, above, far_above, strict=True)
    ]
    assert pressure_log == pytest.approx(expected[0], abs=2e-4)
    assert density == pytest.approx(expected[1], rel=0.01)


@pytest.mark.parametrize("designation", ["R-410A", "R-744", "R-454B"])
def test_temperature_within_3_k_of_critical_is_refused(designation):
    fluid = find(designation)
    saturation_at_temperature(designation, fluid.highest_c)

    for temperature_c in (fluid.highest_c + 0.01, fluid.critical_c, fluid.critical_c + 50):
        with pytest.raises(InvalidInput) as refused:
            saturation_at_temperature(designation, temperature_c)
        assert refused.value.field == "temperature"
        assert "critical" in refused.value.expected


def test_temperature_below_the_triple_point_is_refused():
    # The solver itself would answer 444.7 kPa at -60 °C, where R-744 is solid.
    with pytest.raises(InvalidInput, match="temperature"):
        saturation_at_temperature("R-744", -60)


@pytest.mark.parametrize("temperature_c", [math.nan, math.inf, -math.inf, -274.0, "25", True, None])
def test_impossible_temperature_is_refused(temperature_c):
    with pytest.raises(InvalidInput, match="temperature"):
        saturation_at_temperature("R-22", temperature_c)


@pytest.mark.parametrize("pressure_pa", [0.0, -1.0, 1e9, math.nan, math.inf])
def test_pressure_without_a_saturated_state_is_refused(pressure_pa):
    with pytest.raises(InvalidInput) as refused:
        saturation_at_pressure("R-22", pressure_pa)

    assert refused.value.field == "pressure"


@pytest.mark.parametrize("designation", ["R-401A", "R-408A", "R-414B", "R-438A"])
def test_blend_with_estimated_parameters_has_no_pressure(designation):
    for ask, value in ((saturation_at_temperature, 20.0), (saturation_at_pressure, 500_000.0)):
        with pytest.raises(InvalidInput) as refused:
            ask(designation, value)
        assert refused.value.field == "refrigerant"


def test_threads_don_t_disturb_each_other():
    alone = {temperature: saturation_at_temperature("R-454B", temperature) for temperature in range(8)}
    together = {}

    def work(temperature):
        for _ in range(5):
            together[temperature] = saturation_at_temperature("R-454B", temperature)

    threads = [threading.Thread(target=work, args=(temperature,)) for temperature in alone]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert together == alone


def test_answer_says_how_it_was_reckoned_and_how_sure_it_is():
    saturation = saturation_at_temperature("R-454B", 25)

    assert "CoolProp" in saturation.model
    assert "Source:" in saturation.accuracy
