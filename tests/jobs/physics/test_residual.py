import pytest

from jobs.physics.errors import InvalidInput
from jobs.physics.fluids import find
from jobs.physics.pressures import PA_PER_MMHG, absolute_pa_of_inhg_vacuum
from jobs.physics.residual import residual_after_evacuation

# kg/m³ of vapour at 25 °C and the levels of 40 CFR 82.156 Table 1: 0, 4, 10 and 15 inHg of vacuum against 29.9 inHg,
# and 25 mmHg absolute; worked with CoolProp 8.0.0, not with this code.
WORKED = {
    "R-22": (3.584, 3.099, 2.374, 1.773, 0.1163),
    "R-134a": (4.255, 3.675, 2.812, 2.098, 0.1373),
    "R-410A": (3.004, 2.598, 1.991, 1.487, 0.0976),
    "R-404A": (4.055, 3.504, 2.683, 2.003, 0.1313),
    "R-407C": (3.579, 3.093, 2.369, 1.769, 0.1160),
    "R-449A": (3.619, 3.128, 2.396, 1.789, 0.1173),
    "R-454B": (2.592, 2.241, 1.717, 1.283, 0.0842),
    "R-32": (2.152, 1.861, 1.426, 1.066, 0.0700),
    "R-290": (1.831, 1.582, 1.212, 0.905, 0.0593),
    "R-123": (None, 5.627, 4.283, 3.182, 0.2059),
}
LEVELS_PA = (*(absolute_pa_of_inhg_vacuum(level) for level in (0, 4, 10, 15)), 25 * PA_PER_MMHG)


@pytest.mark.parametrize("designation", WORKED)
def test_density_of_what_is_left(designation):
    for density, pressure_pa in zip(WORKED[designation], LEVELS_PA, strict=True):
        if density is not None:
            residual = residual_after_evacuation(designation, 1000, 25, pressure_pa)

            assert residual.vapour_density_kg_m3 == pytest.approx(density, rel=3e-3)
            assert residual.mass_mg == pytest.approx(density * 1e6, rel=3e-3)


@pytest.mark.parametrize("designation", ["R-22", "R-410A", "R-454B", "R-290"])
def test_vapour_is_nearly_an_ideal_gas(designation):
    molar_mass_kg = find(designation).molar_mass_g_mol / 1000
    for pressure_pa, tolerance in ((absolute_pa_of_inhg_vacuum(0), 0.025), (25 * PA_PER_MMHG, 0.001)):
        ideal = molar_mass_kg * pressure_pa / (8.314462618 * 298.15)

        density = residual_after_evacuation(designation, 1, 25, pressure_pa).vapour_density_kg_m3

        assert ideal <= density <= ideal * (1 + tolerance)


def test_liquid_that_may_remain_is_refused():
    # R-123 boils at 27.8 °C: at 25 °C it is liquid at one atmosphere.
    with pytest.raises(InvalidInput, match="may still be liquid") as refused:
        residual_after_evacuation("R-123", 100, 25, LEVELS_PA[0])

    assert refused.value.field == "pressure"


def test_blend_with_estimated_parameters_counts_as_an_ideal_gas():
    residual = residual_after_evacuation("R-438A", 1000, 25, LEVELS_PA[0])

    assert residual.mass_mg == pytest.approx(99.1e-3 * LEVELS_PA[0] / (8.314462618 * 298.15) * 1e6, rel=1e-3)
    assert "ideal gas" in residual.model


def test_figure_warns_that_liquid_and_oil_come_on_top():
    assert "oil" in residual_after_evacuation("R-22", 10, 25, 10_000).caution


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        (("R-22", 0, 25, 10_000), "volume"),
        (("R-22", float("nan"), 25, 10_000), "volume"),
        (("R-22", 1, 25, 0), "pressure"),
        (("R-22", 1, 25, float("inf")), "pressure"),
        (("R-22", 1, 200, 10_000), "temperature"),
        (("R-438A", 1, -20, 10_000), "temperature"),
        (("R-438A", 1, 25, 150_000), "pressure"),
        (("R-9999", 1, 25, 10_000), "refrigerant"),
        (("R-410A", 1, 25, 600_000), "pressure"),
        (("R-22", "1", 25, 10_000), "volume"),
        (("R-22", 1, "25", 10_000), "temperature"),
    ],
)
def test_unusable_figures_are_refused(arguments, field):
    with pytest.raises(InvalidInput) as refused:
        residual_after_evacuation(*arguments)

    assert refused.value.field == field
