"""Saturation: the pressure at which a refrigerant boils and condenses at a temperature, and the other way round."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import NoReturn

from jobs.physics.equations import Equation, NoSolution, SaturatedState, coolprop_version
from jobs.physics.errors import InvalidInput
from jobs.physics.fluids import ZERO_CELSIUS_K, Fluid, find
from jobs.physics.quantities import is_number

# Pressure is met to this relative precision: a few microkelvin, and coarser than the mixture solver's own noise (1e-8).
_PRECISION = 1e-7
_MOST_ITERATIONS = 60


@dataclass(frozen=True)
class SaturationPoint:
    """A temperature, °C, and the absolute pressure, Pa, that belongs to it."""

    temperature_c: float
    pressure_pa: float


@dataclass(frozen=True)
class Saturation:
    """A refrigerant at saturation.

    Attributes:
        bubble: where the liquid begins to boil.
        dew: where the vapour begins to condense; the same as ``bubble`` for a pure refrigerant.
        liquid_density_kg_m3: of the liquid at the bubble point.
        vapour_density_kg_m3: of the vapour at the dew point.
        model: which equation of state or mixing rule, with its reference.
        accuracy: what is known of the error, with its source.
    """

    bubble: SaturationPoint
    dew: SaturationPoint
    liquid_density_kg_m3: float
    vapour_density_kg_m3: float
    model: str
    accuracy: str


def saturation_at_temperature(refrigerant: str, temperature_c: float) -> Saturation:
    """Gives bubble and dew pressure at a temperature.

    Args:
        refrigerant: ASHRAE 34 designation.
        temperature_c: °C.

    Raises:
        InvalidInput: unknown refrigerant; a blend whose pressure is not known (mixing parameters estimated); a
            temperature below the triple point or the equation's range, or within 3 K of the critical temperature.

    Source: the equation named in ``model``, solved by CoolProp.
    """
    fluid = has_known_pressure(find(refrigerant))
    if not (is_number(temperature_c) and fluid.lowest_c <= temperature_c <= fluid.highest_c):
        expected = f"{_temperature_range(fluid)} for {fluid.designation} ({_why(fluid)})"
        raise InvalidInput("temperature", temperature_c, expected)
    equation = Equation(fluid)
    try:
        liquid = equation.saturated_liquid(temperature_c)
        vapour = equation.saturated_vapour(temperature_c)
    except NoSolution:
        _refuse_unsolved("temperature", temperature_c, fluid)
    return _answer(
        fluid,
        bubble=SaturationPoint(temperature_c, liquid.pressure_pa),
        dew=SaturationPoint(temperature_c, vapour.pressure_pa),
        densities=(liquid.density_kg_m3, vapour.density_kg_m3),
    )


def saturation_at_pressure(refrigerant: str, pressure_pa: float) -> Saturation:
    """Gives bubble and dew temperature at a pressure.

    Args:
        refrigerant: ASHRAE 34 designation.
        pressure_pa: absolute, Pa.

    Raises:
        InvalidInput: as :func:`saturation_at_temperature`, or a pressure that no temperature of the range belongs to.

    Source: the equation named in ``model``, solved by CoolProp.
    """
    fluid = has_known_pressure(find(refrigerant))
    equation = Equation(fluid)
    try:
        lowest_pa = equation.saturated_liquid(fluid.lowest_c).pressure_pa
        highest_pa = equation.saturated_vapour(fluid.highest_c).pressure_pa
        if not lowest_pa <= pressure_pa <= highest_pa:
            expected = (
                f"a pressure from {lowest_pa / 1000:.6g} to {highest_pa / 1000:.6g} kPa absolute for "
                f"{fluid.designation}, which is {_temperature_range(fluid)} ({_why(fluid)})"
            )
            raise InvalidInput("pressure", pressure_pa, expected)
        bubble_c, liquid = _solve(equation.saturated_liquid, pressure_pa, fluid)
        dew_c, vapour = _solve(equation.saturated_vapour, pressure_pa, fluid)
    except NoSolution:
        _refuse_unsolved("pressure", pressure_pa, fluid)
    return _answer(
        fluid,
        bubble=SaturationPoint(bubble_c, pressure_pa),
        dew=SaturationPoint(dew_c, pressure_pa),
        densities=(liquid.density_kg_m3, vapour.density_kg_m3),
    )


def has_known_pressure(fluid: Fluid) -> Fluid:
    """Return the fluid.

    Raises:
        InvalidInput: a blend whose mixing parameters are estimated, so that its pressure would be 5 to 15 % off.
    """
    if fluid.is_estimated:
        expected = (
            f"a refrigerant whose pressure is known; measured mixing parameters are missing for {fluid.designation}, "
            "an estimate would be 5 to 15 % off, and no published table of it is on record here"
        )
        raise InvalidInput("refrigerant", fluid.designation, expected)
    return fluid


def _solve(
    saturated: Callable[[float], SaturatedState], pressure_pa: float, fluid: Fluid
) -> tuple[float, SaturatedState]:
    """Finds the temperature, °C, at which the saturated pressure is the one given, between the fluid's limits.

    The logarithm of pressure is almost straight against one over temperature, so the chord between two bounds (with
    the Illinois change of weights, so that both bounds move) finds it in a few steps. The solver's own search by
    pressure has the same failures as its search by temperature, without the repair.
    """
    inverse_cold, inverse_hot = 1 / (fluid.lowest_c + ZERO_CELSIUS_K), 1 / (fluid.highest_c + ZERO_CELSIUS_K)

    def miss(inverse_k: float) -> tuple[float, SaturatedState]:
        state = saturated(1 / inverse_k - ZERO_CELSIUS_K)
        return math.log(state.pressure_pa / pressure_pa), state

    miss_cold, state = miss(inverse_cold)
    miss_hot, state_hot = miss(inverse_hot)
    for inverse_k, gap, end in ((inverse_cold, miss_cold, state), (inverse_hot, miss_hot, state_hot)):
        if abs(gap) < _PRECISION:
            return 1 / inverse_k - ZERO_CELSIUS_K, end
    for _ in range(_MOST_ITERATIONS):
        inverse_k = inverse_hot - miss_hot * (inverse_cold - inverse_hot) / (miss_cold - miss_hot)
        gap, state = miss(inverse_k)
        if abs(gap) < _PRECISION:
            return 1 / inverse_k - ZERO_CELSIUS_K, state
        if gap * miss_hot < 0:
            inverse_cold, miss_cold = inverse_hot, miss_hot
        else:
            miss_cold /= 2
        inverse_hot, miss_hot = inverse_k, gap
    raise NoSolution(f"no temperature found for {pressure_pa} Pa")


def _answer(
    fluid: Fluid, *, bubble: SaturationPoint, dew: SaturationPoint, densities: tuple[float, float]
) -> Saturation:
    return Saturation(
        bubble=bubble,
        dew=dew,
        liquid_density_kg_m3=densities[0],
        vapour_density_kg_m3=densities[1],
        model=f"{fluid.model_words}, CoolProp {coolprop_version()}",
        accuracy=fluid.accuracy,
    )


def _temperature_range(fluid: Fluid) -> str:
    def both(celsius: float) -> str:
        return f"{celsius:.2f} °C ({celsius * 1.8 + 32:.2f} °F)"

    return f"a temperature from {both(fluid.lowest_c)} to {both(fluid.highest_c)}"


def _why(fluid: Fluid) -> str:
    return f"nothing is answered within 3 K of the critical temperature, {fluid.critical_c:.2f} °C"


def _refuse_unsolved(field: str, value: float, fluid: Fluid) -> NoReturn:
    raise InvalidInput(
        field, value, f"a state that the equation of {fluid.designation} can be solved for"
    ) from None
