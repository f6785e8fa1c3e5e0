"""Reads a weight as a log shows it: a number, or a text with its unit such as ``3 lb 4.5 oz``."""

import re
from collections.abc import Mapping
from fractions import Fraction

# Exact by definition: the international avoirdupois pound is 0.45359237 kg (NIST Handbook 44, appendix C).
MG_PER_UNIT: Mapping[str, Fraction] = {
    "kg": Fraction(1_000_000),
    "g": Fraction(1_000),
    "lb": Fraction("453592.37"),
    "oz": Fraction("28349.523125"),
}
UNITS = "kg, g, lb or oz"
_POUNDS = ("lb", "oz")

# Far above any cylinder on a scale; ten tonnes.
MAX_WEIGHT_MG = 10**10

_WORDS: Mapping[str, str] = {
    **dict.fromkeys(("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramme"), "kg"),
    **dict.fromkeys(("g", "gr", "gram", "grams", "gramme", "grammes"), "g"),
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), "lb"),
    **dict.fromkeys(("oz", "ozs", "ounce", "ounces"), "oz"),
}
_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,2})?"
_ONE = re.compile(rf"({_NUMBER})\s*([a-z]+)?", re.ASCII)
_POUNDS_OUNCES = re.compile(rf"([+-]?\d+)\s*([a-z]+)\s*({_NUMBER})\s*([a-z]+)", re.ASCII)
_LONGEST = 40


def unit_of_word(word: str) -> str | None:
    """The unit that a word of a header or a cell names, if it names one.

    Example:
        >>> unit_of_word("LBS")
        'lb'
    """
    return _WORDS.get(word.lower())


def units_in(text: str) -> list[str]:
    """The units that a header such as ``Weight (lb)`` or ``weight_kg`` names, each once, in its order."""
    words = re.split(r"[^A-Za-z]+", text)
    return list(dict.fromkeys(unit for word in words if (unit := unit_of_word(word))))


def parse_weight(
    text: str, unit: str | None, *, decimal_comma: bool
) -> tuple[Fraction, Fraction, str] | None:
    """Reads one cell.

    Args:
        text: the cell.
        unit: the unit of a bare number; a cell that names another is refused.
        decimal_comma: whether ``12,5`` is twelve and a half.

    Returns:
        Milligrams, milligrams of the last digit shown, and the unit; ``None`` where the cell is no weight.

    Example:
        >>> mg, digit_mg, _ = parse_weight("3 lb 4.5 oz", None, decimal_comma=False)
        >>> round(mg)
        1488350
    """
    text = text.strip().replace("\N{MINUS SIGN}", "-").lower()
    if len(text) > _LONGEST:
        return None
    if decimal_comma and "." not in text:
        text = text.replace(",", ".")
    if match := _ONE.fullmatch(text):
        named = unit_of_word(match[2]) if match[2] else unit
        if named is None or (match[2] and unit is not None and named != unit):
            return None
        return Fraction(match[1]) * MG_PER_UNIT[named], _last_digit(match[1]) * MG_PER_UNIT[named], named
    if (match := _POUNDS_OUNCES.fullmatch(text)) and unit in (None, "lb", "oz"):
        return _pounds_and_ounces(*match.groups())
    return None


def _pounds_and_ounces(
    pounds: str, pound: str, ounces: str, ounce: str
) -> tuple[Fraction, Fraction, str] | None:
    if unit_of_word(pound) != "lb" or unit_of_word(ounce) != "oz" or ounces[0] in "+-":
        return None
    whole_mg, rest_mg = Fraction(pounds) * MG_PER_UNIT["lb"], Fraction(ounces) * MG_PER_UNIT["oz"]
    mg = whole_mg - rest_mg if pounds.startswith("-") else whole_mg + rest_mg
    return mg, _last_digit(ounces) * MG_PER_UNIT["oz"], "lb"


def _last_digit(number: str) -> Fraction:
    mantissa, _, exponent = number.lower().partition("e")
    decimals = len(mantissa.partition(".")[2])
    return Fraction(10) ** (int(exponent or 0) - decimals)


def in_words(mass_mg: float, unit: str) -> str:
    """A mass in pounds where the log's unit is lb or oz, else in kilograms; to be compared with what the log shows.

    Example:
        >>> in_words(3_175_147, "oz")
        '7.000 lb'
    """
    return _shown(mass_mg, "lb" if unit in _POUNDS else "kg", places=3)


def little_in_words(mass_mg: float, unit: str) -> str:
    """A small mass in ounces where the log's unit is lb or oz, else in grams.

    Example:
        >>> little_in_words(1_900, "kg")
        '1.9 g'
    """
    return _shown(mass_mg, "oz", places=2) if unit in _POUNDS else _shown(mass_mg, "g", places=1)


def _shown(mass_mg: float, unit: str, *, places: int) -> str:
    return f"{mass_mg / float(MG_PER_UNIT[unit]):.{places}f} {unit}"
