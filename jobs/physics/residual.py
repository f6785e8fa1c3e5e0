"""How much refrigerant an evacuated space still holds as vapour."""

import math
from dataclasses import dataclass

from jobs.physics.equations import Equation, NoSolution, coolprop_version
from jobs.physics.errors import InvalidInput
from jobs.physics.fluids import ZERO_CELSIUS_K, Fluid, find
from jobs.physics.pressures import STANDARD_ATMOSPHERE_PA

_GAS_CONSTANT = 8.314462618

# Blends with estimated mixing parameters have no known dew pressure. All of them boil below -20 °C at 1 atm (ASHRAE 34,
# from memory), so from here up, and up to 1 atm, they are surely vapour, and an ideal gas within about 2 %.
_SURELY_VAPOUR_FROM_C = -10.0

_CAUTION = (
    "This counts vapour alone. Liquid trapped in low places and refrigerant dissolved in oil come on top and show as a "
    "pressure that rises again after pumping stops."
)


@dataclass(frozen=True)
class Residual:
    """What is left in an evacuated space.

    Attributes:
        mass_mg: of vapour, mg, rounded to the nearest.
        vapour_density_kg_m3: at the pressure and temperature reached.
        because: the arithmetic in words.
        caution: what the figure doesn't cover.
        model: how the density was reckoned.
    """

    mass_mg: int
    vapour_density_kg_m3: float
    because: str
    caution: str
    model: str


def residual_after_evacuation(
    refrigerant: str, volume_l: float, temperature_c: float, pressure_pa: float
) -> Residual:
    """Says how much refrigerant stays behind as vapour.

    Args:
        refrigerant: ASHRAE 34 designation.
        volume_l: of the evacuated space, litres.
        temperature_c: of the space, °C.
        pressure_pa: reached, absolute (evacuation levels in inches of mercury of vacuum:
            ``jobs.physics.pressures.absolute_pa_of_inhg_vacuum``).

    Raises:
        InvalidInput: a volume or pressure that is not above zero, a temperature out of range, or a pressure at which
            liquid may remain.

    Source: vapour density of the equation of state; of an ideal gas for blends with estimated mixing parameters.
    """
    fluid = find(refrigerant)
    if not (math.isfinite(volume_l) and volume_l > 0):
        raise InvalidInput("volume", volume_l, "a volume above zero")
    if not (math.isfinite(pressure_pa) and pressure_pa > 0):
        raise InvalidInput("pressure", pressure_pa, "an absolute pressure above zero")
    if fluid.is_estimated:
        density, model = _ideal_gas(fluid, temperature_c, pressure_pa)
    else:
        density, model = _vapour(fluid, temperature_c, pressure_pa)
    mass_mg = round(density * volume_l * 1000)
    because = (
        f"{volume_l:g} L of {fluid.designation} vapour at {pressure_pa / 1000:.3f} kPa absolute and "
        f"{temperature_c:.1f} °C, {density:.4g} kg/m³: {mass_mg / 1e6:.3f} kg."
    )
    return Residual(mass_mg, density, because, _CAUTION, model)


def _vapour(fluid: Fluid, temperature_c: float, pressure_pa: float) -> tuple[float, str]:
    if not fluid.lowest_c <= temperature_c <= fluid.highest_c:
        expected = (
            f"a temperature from {fluid.lowest_c:.1f} to {fluid.highest_c:.1f} °C for {fluid.designation}"
        )
        raise InvalidInput("temperature", temperature_c, expected)
    equation = Equation(fluid)
    try:
        dew_pa = equation.saturated_vapour(temperature_c).pressure_pa
        if pressure_pa >= dew_pa:
            expected = (
                f"a pressure below {dew_pa / 1000:.4g} kPa absolute: from there up {fluid.designation} may still be "
                f"liquid at {temperature_c:.1f} °C"
            )
            raise InvalidInput("pressure", pressure_pa, expected)
        density = equation.vapour_density_kg_m3(temperature_c, pressure_pa)
    except NoSolution as error:
        expected = f"a state that the equation of {fluid.designation} can be solved for"
        raise InvalidInput("pressure", pressure_pa, expected) from error
    return density, f"{fluid.model_words}, CoolProp {coolprop_version()}"


def _ideal_gas(fluid: Fluid, temperature_c: float, pressure_pa: float) -> tuple[float, str]:
    if not _SURELY_VAPOUR_FROM_C <= temperature_c <= fluid.highest_c:
        expected = (
            f"a temperature from {_SURELY_VAPOUR_FROM_C} to {fluid.highest_c:.1f} °C for {fluid.designation}"
        )
        raise InvalidInput("temperature", temperature_c, expected)
    if pressure_pa > STANDARD_ATMOSPHERE_PA:
        raise InvalidInput(
            "pressure", pressure_pa, "a pressure of at most one atmosphere, 101.325 kPa absolute"
        )
    kelvin = temperature_c + ZERO_CELSIUS_K
    density = fluid.molar_mass_g_mol / 1000 * pressure_pa / (_GAS_CONSTANT * kelvin)
    return (
        density,
        "ideal gas (mixing parameters of this blend are not known); 1 to 2 % too low at one atmosphere",
    )
