"""Masses: typed quantities to whole milligrams and back to kilograms and pounds. Nothing here knows the law."""

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from functools import lru_cache
from typing import Any

from compliance.rulebook.errors import InvalidInput

# Exact by definition: the international avoirdupois pound is 0.45359237 kg (NIST Handbook 44, appendix C).
MG_PER_UNIT: Mapping[str, Decimal] = {
    "kg": Decimal(1_000_000),
    "g": Decimal(1_000),
    "lb": Decimal("453592.37"),
    "oz": Decimal("28349.523125"),
}

_THOUSANDTHS_PER_MG = {unit: 1000 / Fraction(mg) for unit, mg in MG_PER_UNIT.items()}

# Far above any appliance; keeps every product in the leak-rate kernel inside 64 bits and refuses absurd exponents.
MAX_MASS_MG = 10**12

_MAX_DIGITS = 40
_UNITS = "one of " + ", ".join(MG_PER_UNIT)


def parse_mass_mg(value: Decimal | str | int, unit: str, *, field: str = "") -> int:
    """Turns a typed mass into whole milligrams, rounded half up once.

    Args:
        value: the figure as typed, zero or more; a decimal, a whole number or text, never a float.
        unit: kg, g, lb or oz.
        field: path put before ``value`` and ``unit`` in errors.

    Returns:
        Whole milligrams.

    Raises:
        InvalidInput: not a number, negative, too large, or an unknown unit.

    Example:
        >>> parse_mass_mg("12.5", "lb")
        5669905
    """
    return _round_half_up(_exact_mg(value, unit, field))


def parse_pounds_ounces_mg(lb: Decimal | str | int, oz: Decimal | str | int, *, field: str = "") -> int:
    """Turns pounds and ounces into whole milligrams, rounded half up once, as one sum.

    Raises:
        InvalidInput: a part that is not a number, negative or too large.

    Example:
        >>> parse_pounds_ounces_mg(3, "4.5")
        1488350
    """
    pounds = _number(lb, _path(field, "lb")) * Fraction(MG_PER_UNIT["lb"])
    ounces = _number(oz, _path(field, "oz")) * Fraction(MG_PER_UNIT["oz"])
    if pounds + ounces > MAX_MASS_MG:
        raise InvalidInput(field or "mass", {"lb": lb, "oz": oz}, _largest("lb"))
    return _round_half_up(pounds + ounces)


def parse_quantity(obj: Any, field: str) -> int:
    """Reads ``{"value": 12.5, "unit": "lb"}`` or ``{"lb": 3, "oz": 4.5}`` as whole milligrams above zero.

    Numbers in the object are whole numbers or decimals (JSON parsed with ``parse_float=Decimal``); text and floats
    are refused, so that no binary rounding slips in.

    Raises:
        InvalidInput: with the path of the offending key under ``field``.
    """
    if not isinstance(obj, Mapping):
        raise InvalidInput(
            field, obj, 'a quantity such as {"value": 12.5, "unit": "lb"} or {"lb": 3, "oz": 4.5}'
        )
    keys = {"lb", "oz"} if obj.keys() & {"lb", "oz"} else {"value", "unit"}
    for key, value in obj.items():
        if key not in keys:
            raise InvalidInput(
                f"{field}.{key}", value, "no such key here: a quantity has value and unit, or lb and oz"
            )
    for key in sorted(keys - obj.keys()):
        raise InvalidInput(f"{field}.{key}", None, "a value; it is missing")
    for key in sorted(keys - {"unit"}):
        if isinstance(obj[key], bool) or not isinstance(obj[key], int | Decimal):
            raise InvalidInput(f"{field}.{key}", obj[key], "a number")
    if "unit" in keys:
        mass_mg = parse_mass_mg(obj["value"], obj["unit"], field=field)
    else:
        mass_mg = parse_pounds_ounces_mg(obj["lb"], obj["oz"], field=field)
    if mass_mg <= 0:
        where = f"{field}.value" if "unit" in keys else field
        raise InvalidInput(
            where, obj.get("value", dict(obj)), "a mass above zero (at least half a milligram)"
        )
    return mass_mg


def mass_answer(mass_mg: int) -> dict[str, Any]:
    """Gives a mass as ``{"mg", "kg", "lb"}``; kg and lb with 3 decimals, half-even.

    Example:
        >>> mass_answer(5669905)["lb"]
        Decimal('12.500')
    """
    return {"mg": mass_mg, "kg": in_unit(mass_mg, "kg"), "lb": in_unit(mass_mg, "lb")}


def format_mass(mass_mg: int, unit: str = "lb") -> str:
    """Writes a mass for a person, with its unit and the decimals of :func:`shown_in_unit`.

    Example:
        >>> format_mass(3175147)
        '7.000 lb'
        >>> format_mass(1)
        '0.000002 lb'
    """
    return f"{shown_in_unit(mass_mg, unit)} {unit}"


def shown_in_unit(mass_mg: int, unit: str) -> Decimal:
    """Converts whole milligrams to a unit as people read it, half-even on the exact value.

    With 3 decimals; with 6 where 3 would read as nothing though something is there, such as a rest of milligrams: they
    show a single milligram in every unit.

    Example:
        >>> shown_in_unit(226, "lb"), shown_in_unit(227, "lb"), shown_in_unit(0, "lb")
        (Decimal('0.000498'), Decimal('0.001'), Decimal('0.000'))
    """
    shown = in_unit(mass_mg, unit)
    if shown or not mass_mg:
        return shown
    ratio = _THOUSANDTHS_PER_MG[unit]
    return Decimal(round_half_even(1000 * mass_mg * ratio.numerator, ratio.denominator)).scaleb(-6)


@lru_cache(maxsize=4096)  # one appliance's reasons name the same masses again and again
def in_unit(mass_mg: int, unit: str) -> Decimal:
    """Converts whole milligrams to a unit, 3 decimals, half-even on the exact value."""
    ratio = _THOUSANDTHS_PER_MG[unit]
    return Decimal(round_half_even(mass_mg * ratio.numerator, ratio.denominator)).scaleb(-3)


def round_half_even(numerator: int, denominator: int) -> int:
    """The whole number nearest to an exact quotient, the even one of two as near; the denominator is above zero."""
    quotient, rest = divmod(numerator, denominator)
    is_up = 2 * rest > denominator or (2 * rest == denominator and quotient % 2 == 1)
    return quotient + is_up


def exact_mg(value: Decimal, unit: str) -> Fraction:
    """The exact milligrams of a printed legal quantity (50 lb is 22 679 618.5 mg); nothing is rounded."""
    return Fraction(value) * Fraction(MG_PER_UNIT[unit])


def _exact_mg(value: Decimal | str | int, unit: str, field: str) -> Fraction:
    number = _number(value, _path(field, "value"))
    if not isinstance(unit, str) or unit not in MG_PER_UNIT:
        raise InvalidInput(_path(field, "unit"), unit, _UNITS)
    exact = number * Fraction(MG_PER_UNIT[unit])
    if exact > MAX_MASS_MG:
        raise InvalidInput(_path(field, "value"), value, _largest(unit))
    return exact


def _number(value: Decimal | str | int, field: str) -> Fraction:
    if isinstance(value, bool) or not isinstance(value, int | str | Decimal):
        raise InvalidInput(field, value, "a number")
    try:
        number = Decimal(value.strip() if isinstance(value, str) else value)
    except InvalidOperation:
        raise InvalidInput(field, value, "a number") from None
    if not number.is_finite():
        raise InvalidInput(field, value, "a number")
    if number < 0:
        raise InvalidInput(field, value, "a mass of zero or more")
    if len(number.as_tuple().digits) > _MAX_DIGITS or abs(number.adjusted()) > _MAX_DIGITS:
        raise InvalidInput(field, value, f"a number of at most {_MAX_DIGITS} digits")
    return Fraction(number)


def _round_half_up(exact_mg_value: Fraction) -> int:
    return (exact_mg_value + Fraction(1, 2)).__floor__()


def _path(field: str, key: str) -> str:
    return f"{field}.{key}" if field else key


def _largest(unit: str) -> str:
    return f"at most {in_unit(MAX_MASS_MG, unit).to_integral_value()} {unit}"
