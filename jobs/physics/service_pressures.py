"""The service pressure that a cylinder needs for a refrigerant."""

from jobs.physics.fluids import find
from jobs.physics.pressures import gauge_psi
from jobs.physics.saturation_table import saturation_table

# Five quarters of the service pressure must cover the pressure at 55 °C, 131 °F (49 CFR 173.301(a)(8), from memory).
_AT_C = 55.0
_SHARE_OF_SERVICE_PRESSURE = 1.25


def service_pressure_psi(refrigerant: str) -> float | None:
    """The least service pressure, psig, of a cylinder that may hold this refrigerant.

    Args:
        refrigerant: ASHRAE 34 designation.

    Returns:
        psig; None where the pressure at 55 °C is not known or there is no liquid.

    Raises:
        InvalidInput: unknown refrigerant.

    Source: 49 CFR 173.301(a)(8), from memory: five quarters of the service pressure cover the pressure at 55 °C.

    Example:
        >>> round(service_pressure_psi("R-410A"))
        387
    """
    fluid = find(refrigerant)
    state = saturation_table(fluid).state(_AT_C)
    return None if state is None else gauge_psi(state.bubble_pa) / _SHARE_OF_SERVICE_PRESSURE
