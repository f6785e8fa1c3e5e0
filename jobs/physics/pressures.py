"""Pressures in pascals, absolute; the standard atmosphere at an altitude; what a gauge reads there."""

from jobs.physics.errors import InvalidInput

STANDARD_ATMOSPHERE_PA = 101_325.0
PA_PER_PSI = 6894.757293168
# Conventional inch and millimetre of mercury at 0 °C (NIST SP 811, appendix B).
PA_PER_INHG = 3386.389
PA_PER_MMHG = 133.3224

# The lowest land is 430 m below the sea; the formula holds to 11 000 m.
LOWEST_ALTITUDE_M = -500.0
HIGHEST_ALTITUDE_M = 9000.0

_SEA_LEVEL_K = 288.15
_LAPSE_K_PER_M = 0.0065
_EXPONENT = 5.25588


def standard_atmosphere_pa(altitude_m: float) -> float:
    """The pressure of the standard atmosphere at an altitude, Pa. The day's weather moves it by 3 % at most places.

    Args:
        altitude_m: above the sea, m.

    Raises:
        InvalidInput: below -500 m or above 9000 m.

    Source: U.S. Standard Atmosphere, 1976 (troposphere).

    Example:
        >>> round(standard_atmosphere_pa(1524))
        84307
    """
    if not LOWEST_ALTITUDE_M <= altitude_m <= HIGHEST_ALTITUDE_M:
        expected = f"an altitude from {LOWEST_ALTITUDE_M:.0f} to {HIGHEST_ALTITUDE_M:.0f} m"
        raise InvalidInput("altitude", altitude_m, expected)
    return STANDARD_ATMOSPHERE_PA * (1 - _LAPSE_K_PER_M * altitude_m / _SEA_LEVEL_K) ** _EXPONENT


def gauge_psi(pressure_pa: float, atmosphere_pa: float = STANDARD_ATMOSPHERE_PA) -> float:
    """What a gauge shows, in psi over the atmosphere around it; below zero in a vacuum.

    Args:
        pressure_pa: absolute.
        atmosphere_pa: absolute, around the gauge.
    """
    return (pressure_pa - atmosphere_pa) / PA_PER_PSI


def gauge_inhg_vacuum(pressure_pa: float, atmosphere_pa: float = STANDARD_ATMOSPHERE_PA) -> float:
    """What a compound gauge shows below the atmosphere around it, in inches of mercury of vacuum.

    An evacuation level is an absolute pressure, so at an altitude a gauge shows less vacuum for the same level. Below
    zero the level stands above the local atmosphere: no vacuum is needed to meet it. An absolute gauge (microns) needs
    no such correction.

    Args:
        pressure_pa: absolute.
        atmosphere_pa: absolute, around the gauge.
    """
    return (atmosphere_pa - pressure_pa) / PA_PER_INHG


def absolute_pa_of_inhg_vacuum(vacuum_inhg: float, reference_inhg: float = 29.9) -> float:
    """The absolute pressure of a level given in inches of mercury of vacuum, Pa.

    Args:
        vacuum_inhg: the level.
        reference_inhg: what the level is measured from; 40 CFR 82.156 Table 1 takes 29.9.
    """
    return (reference_inhg - vacuum_inhg) * PA_PER_INHG
