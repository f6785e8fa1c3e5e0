"""The JSON document of ``assess`` to an appliance, its facts, a date and rule names; strict about every key."""

import json
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from compliance.rulebook import readers
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.facts import Appliance, Category, Fact, LeakRateMethod
from compliance.rulebook.masses import parse_quantity
from compliance.rulebook.parse_facts import read_fact
from compliance.rulebook.refrigerants import find
from compliance.rulebook.rules import RULE_NAMES

_TOP_KEYS = ("as_of", "rules", "appliance", "facts")
_APPLIANCE_REQUIRED = ("category", "refrigerant", "full_charge", "leak_rate_method")
_APPLIANCE_OPTIONAL = ("residential_or_light_commercial", "installed_on", "hermetically_sealed", "enclosed")


@dataclass(frozen=True)
class AssessmentRequest:
    """What ``assess`` was asked: the appliance, its facts in the order given, the date and the rules."""

    appliance: Appliance
    facts: tuple[Fact, ...]
    as_of: date
    rules: tuple[str, ...]


def parse_text(text: str) -> AssessmentRequest:
    """Reads the JSON document; see ``parse``.

    Raises:
        InvalidInput: not JSON, a key given twice, or anything ``parse`` refuses.
    """
    return parse(parse_json(text))


def parse_json(text: str) -> Any:
    """Reads JSON as ``parse`` takes it, numbers with a point as decimals; what it says is not looked at.

    Raises:
        InvalidInput: not JSON, a key given twice in one object, or nested too deeply.
    """
    try:
        return json.loads(
            text,
            parse_float=Decimal,
            parse_constant=_refuse_constant,
            object_pairs_hook=_refuse_repeated_keys,
        )
    except (ValueError, RecursionError) as error:
        raise InvalidInput("document", str(error), "one JSON object") from None


def parse(document: Any) -> AssessmentRequest:
    """Reads the parsed JSON document of ``assess``; numbers are whole numbers or ``Decimal``, never floats.

    Raises:
        InvalidInput: an unknown or missing key, a wrong type, a zero or negative mass, a bad date; the field is the
            path in the document, such as ``facts[2].mass.value``.
    """
    readers.check_keys(document, "", required=_TOP_KEYS)
    facts = readers.array(document["facts"], "facts")
    return AssessmentRequest(
        appliance=_read_appliance(document["appliance"], "appliance"),
        facts=tuple(read_fact(fact, f"facts[{index}]") for index, fact in enumerate(facts)),
        as_of=readers.day(document["as_of"], "as_of"),
        rules=_read_rules(document["rules"], "rules"),
    )


def _read_appliance(document: Any, field: str) -> Appliance:
    readers.check_keys(document, field, required=_APPLIANCE_REQUIRED, optional=_APPLIANCE_OPTIONAL)

    def flag(key: str) -> bool:
        return key in document and readers.boolean(document[key], f"{field}.{key}")

    return Appliance(
        category=Category(readers.one_of(document["category"], f"{field}.category", tuple(Category))),
        refrigerant=find(document["refrigerant"], f"{field}.refrigerant"),
        full_charge_mg=parse_quantity(document["full_charge"], f"{field}.full_charge"),
        leak_rate_method=LeakRateMethod(
            readers.one_of(document["leak_rate_method"], f"{field}.leak_rate_method", tuple(LeakRateMethod))
        ),
        installed_on=None
        if document.get("installed_on") is None
        else readers.day(document["installed_on"], f"{field}.installed_on"),
        is_residential_or_light_commercial=flag("residential_or_light_commercial"),
        is_hermetically_sealed=flag("hermetically_sealed"),
        is_enclosed=flag("enclosed"),
    )


def _read_rules(value: Any, field: str) -> tuple[str, ...]:
    names = readers.array(value, field)
    if not names:
        raise InvalidInput(field, value, "at least one of " + ", ".join(RULE_NAMES))
    read = [readers.one_of(name, f"{field}[{index}]", RULE_NAMES) for index, name in enumerate(names)]
    return tuple(dict.fromkeys(read))


def _refuse_constant(name: str) -> Any:
    raise ValueError(f"{name} is not a JSON number")


def _refuse_repeated_keys(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    document = dict(pairs)
    if len(document) != len(pairs):
        keys = [key for key, _ in pairs]
        repeated = next(key for key in keys if keys.count(key) > 1)
        raise ValueError(f"the key {repeated!r} is given twice in one object")
    return document
