"""How much refrigerant an evacuated space still holds as vapour."""

import math
from dataclasses import dataclass

from jobs.physics.errors import InvalidInput
from jobs.physics.fluids import ZERO_CELSIUS_K, Fluid, find
from jobs.physics.pressures import STANDARD_ATMOSPHERE_PA, gauge_psi
from jobs.physics.quantities import is_number
from jobs.physics.saturation import has_known_pressure
from jobs.physics.saturation_table import TabledState
from jobs.physics.tabled_saturation import tabled_model, tabled_state

_GAS_CONSTANT = 8.314462618

# Blends with estimated mixing parameters have no known dew pressure. All of them boil below -20 °C at 1 atm (ASHRAE 34,
# from memory), so from here up, and up to 1 atm, they are surely vapour, and an ideal gas within about 2 %.
_SURELY_VAPOUR_FROM_C = -10.0

# Evacuation ends far below this; above it the vapour's density would be more than 1.2 % off.
_HIGHEST_PA = 500_000.0

_VIRIAL = (
    "below the dew point by the virial equation to its second term, within 0.3 % up to one atmosphere and 1.2 % up to "
    "500 kPa"
)

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
    if not (is_number(volume_l) and volume_l > 0):
        raise InvalidInput("volume", volume_l, "a volume above zero")
    if not (is_number(pressure_pa) and pressure_pa > 0):
        raise InvalidInput("pressure", pressure_pa, "an absolute pressure above zero")
    if fluid.is_estimated:
        density, model = _ideal_gas(fluid, temperature_c, pressure_pa)
    else:
        density, model = _vapour(fluid, temperature_c, pressure_pa)
    mass_mg = round(density * volume_l * 1000)
    because = (
        f"{volume_l:.4g} L of {fluid.designation} vapour at {pressure_pa / 1000:.3f} kPa absolute and "
        f"{temperature_c:.1f} °C, {density:.4g} kg/m³: {mass_mg / 1e6:.3f} kg."
    )
    return Residual(mass_mg, density, because, _CAUTION, model)


def inside_volume_l(refrigerant: str, charge_mg: int, temperature_c: float, liquid_pct: float) -> float:
    """The inside volume of an appliance from its charge and the share of the inside that is liquid, litres.

    Args:
        refrigerant: ASHRAE 34 designation.
        charge_mg: what it holds, mg.
        temperature_c: of the whole appliance at rest, °C.
        liquid_pct: share of the volume that is liquid at rest, percent.

    Raises:
        InvalidInput: unknown refrigerant or one whose densities aren't known, a charge that is not above zero, or a
            temperature or share out of range.

    Source: densities of ``fixtures/physics/saturation.csv``.
    """
    fluid = has_known_pressure(find(refrigerant))
    if not (is_number(charge_mg) and charge_mg > 0):
        raise InvalidInput("full_charge", charge_mg, "a charge above zero")
    if not (is_number(liquid_pct) and 0 < liquid_pct <= 100):  # noqa: PLR2004 the ends of a percentage
        raise InvalidInput("liquid_share", liquid_pct, "a percentage above 0, up to 100")
    state = tabled_state(fluid, temperature_c)
    share = liquid_pct / 100
    density = share * state.liquid_density_kg_m3 + (1 - share) * state.vapour_density_kg_m3
    return charge_mg / 1000 / density


def _vapour(fluid: Fluid, temperature_c: float, pressure_pa: float) -> tuple[float, str]:
    state = tabled_state(fluid, temperature_c)
    if pressure_pa >= state.dew_pa:
        expected = (
            f"a pressure below {state.dew_pa / 1000:.4g} kPa absolute ({gauge_psi(state.dew_pa):.1f} psig at sea "
            f"level): from there up {fluid.designation} may still be liquid at {temperature_c:.1f} °C"
        )
        raise InvalidInput("pressure", pressure_pa, expected)
    if pressure_pa > _HIGHEST_PA:
        expected = f"a pressure of at most {_HIGHEST_PA / 1000:.0f} kPa absolute, as evacuation leaves it"
        raise InvalidInput("pressure", pressure_pa, expected)
    return vapour_density_kg_m3(fluid, state, temperature_c, pressure_pa), f"{tabled_model(fluid)}; {_VIRIAL}"


def vapour_density_kg_m3(fluid: Fluid, state: TabledState, temperature_c: float, pressure_pa: float) -> float:
    """The density of a vapour below its dew pressure, from the saturated vapour of the same temperature.

    The compressibility is taken as straight in density (the virial equation to its second term), which is exact at no
    pressure and at the dew point, within 0.3 % up to one atmosphere and within 1.2 % up to 500 kPa.

    Args:
        fluid: the refrigerant.
        state: its saturated state at this temperature.
        temperature_c: °C.
        pressure_pa: absolute, not above the dew pressure.
    """
    ideal = _ideal_density_kg_m3(fluid, temperature_c, pressure_pa)
    saturated = state.vapour_density_kg_m3
    slope = (_ideal_density_kg_m3(fluid, temperature_c, state.dew_pa) / saturated - 1) / saturated
    # ideal = density * (1 + slope * density), solved in the form that keeps its figures as the slope goes to nought.
    return 2 * ideal / (1 + math.sqrt(1 + 4 * slope * ideal))


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
    return (
        _ideal_density_kg_m3(fluid, temperature_c, pressure_pa),
        "ideal gas (mixing parameters of this blend are not known); 1 to 2 % too low at one atmosphere",
    )


def _ideal_density_kg_m3(fluid: Fluid, temperature_c: float, pressure_pa: float) -> float:
    kelvin = temperature_c + ZERO_CELSIUS_K
    return fluid.molar_mass_g_mol / 1000 * pressure_pa / (_GAS_CONSTANT * kelvin)
