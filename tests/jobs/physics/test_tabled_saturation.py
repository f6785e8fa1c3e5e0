import pytest

from jobs.physics.equations import Equation, NoSolution
from jobs.physics.errors import InvalidInput
from jobs.physics.fluids import all_fluids, find
from jobs.physics.residual import vapour_density_kg_m3
from jobs.physics.saturation import saturation_at_pressure, saturation_at_temperature
from jobs.physics.tabled_saturation import tabled_at_pressure, tabled_at_temperature, tabled_state

SAMPLE = ["R-22", "R-134a", "R-410A", "R-404A", "R-407F", "R-454B", "R-744", "R-290"]


@pytest.mark.parametrize("designation", SAMPLE)
def test_answer_from_the_table_is_the_equations(designation):
    at_temperature = saturation_at_temperature(designation, 17.3)

    tabled = tabled_at_temperature(designation, 17.3)

    for ours, theirs in (
        (tabled.bubble.pressure_pa, at_temperature.bubble.pressure_pa),
        (tabled.dew.pressure_pa, at_temperature.dew.pressure_pa),
        (tabled.liquid_density_kg_m3, at_temperature.liquid_density_kg_m3),
        (tabled.vapour_density_kg_m3, at_temperature.vapour_density_kg_m3),
    ):
        assert ours == pytest.approx(theirs, rel=5e-4)
    assert tabled.accuracy == at_temperature.accuracy
    assert tabled.model.startswith(at_temperature.model)


@pytest.mark.parametrize("designation", SAMPLE)
@pytest.mark.parametrize("pressure_pa", [700_000, 1_250_000])
def test_temperature_from_the_table_is_the_equations(designation, pressure_pa):
    at_pressure = saturation_at_pressure(designation, pressure_pa)

    tabled = tabled_at_pressure(designation, pressure_pa)

    assert tabled.bubble.temperature_c == pytest.approx(at_pressure.bubble.temperature_c, abs=0.02)
    assert tabled.dew.temperature_c == pytest.approx(at_pressure.dew.temperature_c, abs=0.02)


@pytest.mark.parametrize(
    ("designation", "temperature_c"),
    [("R-744", -60), ("R-744", 29), ("R-410A", 70), ("R-22", "25"), ("R-22", float("nan")), ("R-22", None)],
)
def test_temperature_outside_the_table_is_refused(designation, temperature_c):
    with pytest.raises(InvalidInput, match="critical") as refused:
        tabled_at_temperature(designation, temperature_c)

    assert refused.value.field == "temperature"


@pytest.mark.parametrize("pressure_pa", [0, -5, 1e9, float("nan"), float("inf")])
def test_pressure_outside_the_table_is_refused(pressure_pa):
    with pytest.raises(InvalidInput) as refused:
        tabled_at_pressure("R-22", pressure_pa)

    assert refused.value.field == "pressure"


@pytest.mark.parametrize("designation", [fluid.designation for fluid in all_fluids() if fluid.is_estimated])
def test_blend_without_measured_pairs_is_refused_without_a_published_table(designation):
    for ask in (tabled_at_temperature, tabled_at_pressure):
        with pytest.raises(InvalidInput, match="no published table") as refused:
            ask(designation, 20)
        assert refused.value.field == "refrigerant"


@pytest.mark.parametrize("designation", SAMPLE)
def test_density_of_a_vapour_is_as_near_the_equations_as_it_says(designation):
    fluid = find(designation)
    equation = Equation(fluid)
    for temperature_c in (-20, 0, 25):
        state = tabled_state(fluid, temperature_c)
        for pressure_pa, doubt in ((20_000, 0.003), (101_325, 0.003), (500_000, 0.012)):
            if pressure_pa < state.dew_pa:
                density = vapour_density_kg_m3(fluid, state, temperature_c, pressure_pa)

                assert density == pytest.approx(
                    equation.vapour_density_kg_m3(temperature_c, pressure_pa), rel=doubt
                )


@pytest.mark.proof
def test_density_of_every_vapour_is_as_near_the_equations_as_it_says():
    for fluid in all_fluids():
        for temperature_c in (-20, 0, 25, 55):
            if fluid.is_estimated or not fluid.lowest_c <= temperature_c < fluid.highest_c:
                continue
            state = tabled_state(fluid, temperature_c)
            for pressure_pa, doubt in ((101_325, 0.003), (500_000, 0.012)):
                if pressure_pa < state.dew_pa:
                    density = vapour_density_kg_m3(fluid, state, temperature_c, pressure_pa)
                    try:
                        expected = Equation(fluid).vapour_density_kg_m3(temperature_c, pressure_pa)
                    except NoSolution:
                        continue
                    assert density == pytest.approx(expected, rel=doubt), (fluid.designation, temperature_c)
