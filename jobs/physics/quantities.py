"""Reads temperatures, pressures, altitudes and volumes as a person types them, with their unit."""

import math
import re
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any

from jobs.physics.errors import InvalidInput
from jobs.physics.pressures import PA_PER_INHG, PA_PER_MMHG, PA_PER_PSI, STANDARD_ATMOSPHERE_PA

_LONGEST = 40
_QUANTITY = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+))\s*°?\s*([A-Za-z_]+3?)", re.ASCII)

_M_PER_FT = Fraction("0.3048")
_PA_PER_KPA = 1000.0
_PA_PER_BAR = 100_000.0

_TO_KELVIN: Mapping[str, Callable[[Fraction], Fraction]] = {
    "f": lambda number: (number - 32) * 5 / 9 + Fraction("273.15"),
    "c": lambda number: number + Fraction("273.15"),
    "k": lambda number: number,
}

_TO_PA: Mapping[str, Callable[[float, float], float]] = {
    "psig": lambda number, atmosphere_pa: atmosphere_pa + number * PA_PER_PSI,
    "psia": lambda number, _: number * PA_PER_PSI,
    "inhg_vac": lambda number, atmosphere_pa: atmosphere_pa - number * PA_PER_INHG,
    "kpa": lambda number, _: number * _PA_PER_KPA,
    "kpag": lambda number, atmosphere_pa: atmosphere_pa + number * _PA_PER_KPA,
    "mmhg": lambda number, _: number * PA_PER_MMHG,
    "micron": lambda number, _: number * PA_PER_MMHG / 1000,
    "bar": lambda number, _: number * _PA_PER_BAR,
    "barg": lambda number, atmosphere_pa: atmosphere_pa + number * _PA_PER_BAR,
}

_TO_L: Mapping[str, float] = {"l": 1.0, "ft3": 28.316846592, "in3": 0.016387064, "gal": 3.785411784}
_TO_MM: Mapping[str, float] = {"mm": 1.0, "in": 25.4, "m": 1000.0, "ft": 304.8}

_TO_M: Mapping[str, Fraction] = {"ft": _M_PER_FT, "m": Fraction(1)}


def is_number(value: Any) -> bool:
    """Whether a value is a finite number. CoolProp takes the text ``"25"`` for 25 K, so text is none."""
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def split_quantity(text: Any, field: str, expected: str) -> tuple[str, str]:
    """Splits ``"47.7 lb"`` into number and unit, both as text, the unit in small letters.

    Raises:
        InvalidInput: not one number followed by one unit.
    """
    if isinstance(text, str) and len(text) <= _LONGEST:
        # A minus sign copied from a document is a minus sign too.
        match = _QUANTITY.fullmatch(text.strip().replace("\N{MINUS SIGN}", "-"))
        if match:
            return match[1], match[2].lower()
    raise InvalidInput(field, text, expected)


def parse_temperature_c(text: Any, field: str = "temperature") -> float:
    """Reads a temperature such as ``"70 F"`` as °C; units F, C and K.

    Raises:
        InvalidInput: not a temperature, or at or below absolute zero.

    Example:
        >>> parse_temperature_c("70 F")
        21.11111111111111
    """
    expected = 'a temperature with its unit, F, C or K, such as "70 F"'
    number, unit = split_quantity(text, field, expected)
    if unit not in _TO_KELVIN:
        raise InvalidInput(field, text, expected)
    kelvin = _TO_KELVIN[unit](Fraction(number))
    if kelvin <= 0:
        raise InvalidInput(field, text, "a temperature above absolute zero")
    return float(kelvin - Fraction("273.15"))


def parse_pressure_pa(
    text: Any, field: str = "pressure", atmosphere_pa: float = STANDARD_ATMOSPHERE_PA
) -> float:
    """Reads a pressure such as ``"201 psig"`` as Pa, absolute.

    Units: psig, inHg_vac, kPag and barg against the atmosphere; psia, kPa, bar, mmHg and micron absolute.

    Args:
        text: number and unit.
        field: for errors.
        atmosphere_pa: absolute, around the gauge.

    Raises:
        InvalidInput: not a pressure, or at or below a perfect vacuum.
    """
    expected = (
        "a pressure with its unit, psig, psia, inHg_vac, kPa, bar, mmHg or micron (absolute), kPag or barg, "
        'such as "201 psig"'
    )
    number, unit = split_quantity(text, field, expected)
    if unit not in _TO_PA:
        raise InvalidInput(field, text, expected)
    pressure_pa = _TO_PA[unit](float(number), atmosphere_pa)
    if pressure_pa <= 0:
        raise InvalidInput(
            field, text, f"a pressure above a perfect vacuum (the atmosphere is {atmosphere_pa:.0f} Pa)"
        )
    return pressure_pa


def parse_altitude_m(text: Any, field: str = "altitude") -> float:
    """Reads an altitude such as ``"5000 ft"`` as metres; units ft and m.

    Raises:
        InvalidInput: not an altitude.
    """
    expected = 'an altitude with its unit, ft or m, such as "5000 ft"'
    number, unit = split_quantity(text, field, expected)
    if unit not in _TO_M:
        raise InvalidInput(field, text, expected)
    return float(Fraction(number) * _TO_M[unit])


def parse_volume_l(text: Any, field: str = "volume") -> float:
    """Reads a volume such as ``"12 L"`` as litres; units L, ft3, in3 and gal (the US gallon).

    Raises:
        InvalidInput: not a volume, or not above zero.
    """
    return _above_zero(
        text, field, _TO_L, 'a volume above zero with its unit, L, ft3, in3 or gal, such as "12 L"'
    )


def parse_length_mm(text: Any, field: str = "length") -> float:
    """Reads a length such as ``"0.43 in"`` as millimetres; units mm, in, m and ft.

    Raises:
        InvalidInput: not a length, or not above zero.
    """
    return _above_zero(
        text, field, _TO_MM, 'a length above zero with its unit, mm, in, m or ft, such as "0.43 in"'
    )


def _above_zero(text: Any, field: str, units: Mapping[str, float], expected: str) -> float:
    number, unit = split_quantity(text, field, expected)
    if unit not in units or float(number) <= 0:
        raise InvalidInput(field, text, expected)
    return float(number) * units[unit]
