"""An appliance and its facts as the JSON document that ``assess`` takes: the way back from ``parse``."""

import json
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.facts import Appliance, Fact
from compliance.rulebook.masses import MAX_MASS_MG, MG_PER_UNIT, exact_mg, parse_mass_mg
from compliance.rulebook.parse_facts import fact_keys
from compliance.rulebook.refrigerants import Refrigerant

Document = dict[str, Any]

# In the order in which they are preferred where several say a mass as shortly.
_UNITS = ("lb", "kg")
# One ten-millionth of a pound or kilogram is less than half a milligram: so many decimals tell any two masses apart.
_MOST_DECIMALS = 7


def document(appliance: Appliance, facts: Sequence[Fact], *, as_of: date, rules: Sequence[str]) -> Document:
    """Writes a question to ``assess`` as plain objects; ``parse`` reads the same question from them.

    Args:
        appliance: the state before the first fact.
        facts: in the order in which they are to be written.
        as_of: the day asked about.
        rules: names of ``rules.RULE_NAMES``.
    """
    return {
        "as_of": as_of.isoformat(),
        "rules": list(rules),
        "appliance": appliance_document(appliance),
        "facts": [fact_document(fact) for fact in facts],
    }


def appliance_document(appliance: Appliance) -> Document:
    """Writes the appliance; what a person decides about it stands there in either case."""
    return {
        "category": appliance.category.value,
        "residential_or_light_commercial": appliance.is_residential_or_light_commercial,
        "refrigerant": appliance.refrigerant.designation,
        "full_charge": quantity(appliance.full_charge_mg),
        "installed_on": None if appliance.installed_on is None else appliance.installed_on.isoformat(),
        "leak_rate_method": appliance.leak_rate_method.value,
        "hermetically_sealed": appliance.is_hermetically_sealed,
        "enclosed": appliance.is_enclosed,
    }


def fact_document(fact: Fact) -> Document:
    """Writes one fact: its day and kind, and those of its fields that differ from what their absence means."""
    absent = Fact(fact.on, fact.kind)
    written: Document = {"on": fact.on.isoformat(), "kind": fact.kind.value}
    for key in fact_keys(fact.kind):
        value = getattr(fact, key.fills)
        if key.name != "on" and value != getattr(absent, key.fills):
            written[key.name] = quantity(value) if key.fills.endswith("_mg") else _plain(value)
    return written


def quantity(mass_mg: int) -> Document:
    """Writes whole milligrams as the shortest figure that reads as the same milligrams, in lb rather than in kg.

    Args:
        mass_mg: above zero.

    Example:
        >>> quantity(3175147), quantity(5000000)
        ({'value': 7, 'unit': 'lb'}, {'value': 5, 'unit': 'kg'})
    """
    for decimals in range(_MOST_DECIMALS + 1):
        for unit in _UNITS:
            exact = Fraction(mass_mg) / Fraction(MG_PER_UNIT[unit])
            figure = Decimal(round(exact * 10**decimals)).scaleb(-decimals)
            # Rounded up, the largest mass of all would be above what is read.
            if exact_mg(figure, unit) <= MAX_MASS_MG and parse_mass_mg(figure, unit) == mass_mg:
                return {"value": figure if decimals else int(figure), "unit": unit}
    raise AssertionError(f"{mass_mg} mg is told apart from others by no {_MOST_DECIMALS} decimals")


def document_json(content: Any, *, indent: int | None = 2) -> str:
    """Writes a document as JSON text, on one line without ``indent``; every figure reads back as the same decimal.

    Raises:
        InvalidInput: a figure of so many digits that it can't.
    """
    separators = (",", ":") if indent is None else None
    return json.dumps(content, ensure_ascii=False, indent=indent, separators=separators, default=_number)


def _plain(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    return value.designation if isinstance(value, Refrigerant) else value


def _number(value: Any) -> float:
    """JSON's own writer knows floats alone, so a decimal must be one that a float reads back as."""
    figure = float(value)
    if Decimal(repr(figure)) != value:
        raise InvalidInput("document", value, "a figure of at most 15 digits")
    return figure
