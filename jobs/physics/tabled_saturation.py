"""Saturation as the pages give it: read from the table, in microseconds and without CoolProp."""

from jobs.physics.errors import InvalidInput
from jobs.physics.fluids import Fluid, find
from jobs.physics.quantities import is_number
from jobs.physics.saturation import Saturation, SaturationPoint, has_known_pressure
from jobs.physics.saturation_table import SaturationTable, TabledState, saturation_table, table_version

_INTERPOLATED = "read from a table in steps of 5 °C, within 0.05 % of the equation"


def tabled_at_temperature(refrigerant: str, temperature_c: float) -> Saturation:
    """Gives bubble and dew pressure at a temperature, as ``saturation_at_temperature`` within 0.05 %.

    Args:
        refrigerant: ASHRAE 34 designation.
        temperature_c: °C.

    Raises:
        InvalidInput: unknown refrigerant, a blend whose pressure is not known, or a temperature outside the table:
            below the triple point or -90 °C, within 3 K of the critical temperature, or above 150 °C.

    Source: ``fixtures/physics/saturation.csv``, computed from the equation named in ``model``.
    """
    fluid = has_known_pressure(find(refrigerant))
    state = tabled_state(fluid, temperature_c)
    return _answer(
        fluid,
        bubble=SaturationPoint(temperature_c, state.bubble_pa),
        dew=SaturationPoint(temperature_c, state.dew_pa),
        densities=(state.liquid_density_kg_m3, state.vapour_density_kg_m3),
    )


def tabled_at_pressure(refrigerant: str, pressure_pa: float) -> Saturation:
    """Gives bubble and dew temperature at a pressure, as ``saturation_at_pressure`` to 0.02 K.

    Args:
        refrigerant: ASHRAE 34 designation.
        pressure_pa: absolute, Pa.

    Raises:
        InvalidInput: as :func:`tabled_at_temperature`, or a pressure that no temperature of the table belongs to.

    Source: ``fixtures/physics/saturation.csv``, computed from the equation named in ``model``.
    """
    fluid = has_known_pressure(find(refrigerant))
    table = saturation_table(fluid)
    bubble_c, dew_c = table.bubble_temperature_c(pressure_pa), table.dew_temperature_c(pressure_pa)
    liquid = None if bubble_c is None else table.state(bubble_c)
    vapour = None if dew_c is None else table.state(dew_c)
    if bubble_c is None or dew_c is None or liquid is None or vapour is None:
        expected = (
            f"a pressure from {table.bubble_pa[0] / 1000:.4g} to {table.dew_pa[-1] / 1000:.5g} kPa absolute for "
            f"{fluid.designation}, which is {_temperature_range(table)} ({_why(fluid)})"
        )
        raise InvalidInput("pressure", pressure_pa, expected)
    return _answer(
        fluid,
        bubble=SaturationPoint(bubble_c, pressure_pa),
        dew=SaturationPoint(dew_c, pressure_pa),
        densities=(liquid.liquid_density_kg_m3, vapour.vapour_density_kg_m3),
    )


def tabled_state(fluid: Fluid, temperature_c: float, field: str = "temperature") -> TabledState:
    """The saturated state of a refrigerant whose pressure is known.

    Raises:
        InvalidInput: a temperature outside its table; carries ``field``.
    """
    table = saturation_table(fluid)
    state = table.state(temperature_c) if is_number(temperature_c) else None
    if state is None:
        expected = f"{_temperature_range(table)} for {fluid.designation} ({_why(fluid)})"
        raise InvalidInput(field, temperature_c, expected)
    return state


def tabled_model(fluid: Fluid) -> str:
    """In words, how a figure from the table was reckoned."""
    return f"{fluid.model_words}, CoolProp {table_version()}; {_INTERPOLATED}"


def _answer(
    fluid: Fluid, *, bubble: SaturationPoint, dew: SaturationPoint, densities: tuple[float, float]
) -> Saturation:
    return Saturation(
        bubble=bubble,
        dew=dew,
        liquid_density_kg_m3=densities[0],
        vapour_density_kg_m3=densities[1],
        model=tabled_model(fluid),
        accuracy=fluid.accuracy,
    )


def _temperature_range(table: SaturationTable) -> str:
    lowest_c, highest_c = table.temperatures_c[0], table.temperatures_c[-1]
    return f"a temperature from {_both(lowest_c)} to {_both(highest_c)}"


def _both(celsius: float) -> str:
    return f"{celsius:.1f} °C ({celsius * 1.8 + 32:.1f} °F)"


def _why(fluid: Fluid) -> str:
    return f"nothing is answered within 3 K of the critical temperature, {fluid.critical_c:.2f} °C"
