"""One JSON fact to a ``Fact``: which keys each kind takes, which it needs, and how each is read."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from compliance.rulebook import readers
from compliance.rulebook.dates import EARLIEST_ON, LATEST_ON
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.facts import (
    ADDITION_REASONS,
    CALIFORNIA_EXTENSION_BASES,
    DETECTION_TYPES,
    EXTENDABLE_OBLIGATIONS,
    EXTENSION_BASES,
    REMOVAL_REASONS,
    Fact,
    FactKind,
    LeakRateMethod,
)
from compliance.rulebook.masses import parse_quantity
from compliance.rulebook.refrigerants import find

_Reader = Callable[[Any, str], Any]

_MOST_LEAKS = 100_000


@dataclass(frozen=True)
class FactKey:
    """A JSON key of a fact: the field it fills and how its value is read; ``null`` counts as absent where allowed."""

    name: str
    reads: _Reader
    fills: str
    is_required: bool = False
    may_be_null: bool = False


def _choice(choices: tuple[str, ...]) -> _Reader:
    return lambda value, field: readers.one_of(value, field, choices)


def _leaks_found(value: Any, field: str) -> int:
    if isinstance(value, bool):
        return int(value)
    try:
        return readers.whole_number(value, field, lowest=0, highest=_MOST_LEAKS)
    except InvalidInput:
        raise InvalidInput(field, value, "true, false or the number of leaks found") from None


def _year(value: Any, field: str) -> int:
    return readers.whole_number(value, field, lowest=EARLIEST_ON.year, highest=LATEST_ON.year)


_MASS = FactKey("mass", parse_quantity, "mass_mg", is_required=True)
_LEAK = FactKey("leak", readers.text, "leak", may_be_null=True)
_PASSED = FactKey("passed", readers.boolean, "passed", is_required=True)
_FULL_CHARGE = FactKey("full_charge", parse_quantity, "full_charge_mg", is_required=True)
_UNTIL = FactKey("until", readers.day, "until")
_YEAR = FactKey("year", _year, "year", is_required=True)

_KEYS: Mapping[FactKind, tuple[FactKey, ...]] = {
    FactKind.ADDITION: (
        _MASS,
        _LEAK,
        FactKey("reason", _choice(ADDITION_REASONS), "reason"),
        FactKey("purged_and_destroyed", parse_quantity, "purged_and_destroyed_mg"),
    ),
    FactKind.REMOVAL: (_MASS, FactKey("reason", _choice(REMOVAL_REASONS), "reason")),
    FactKind.LEAK_INSPECTION: (FactKey("leaks_found", _leaks_found, "leaks_found", may_be_null=True),),
    FactKind.REPAIR: (_LEAK, FactKey("evacuated", readers.boolean, "is_evacuated")),
    FactKind.INITIAL_VERIFICATION_TEST: (_PASSED, _LEAK),
    FactKind.NORMAL_OPERATION: (),
    FactKind.FOLLOW_UP_VERIFICATION_TEST: (
        _PASSED,
        _LEAK,
        FactKey("all_leaks", readers.boolean, "all_leaks"),
    ),
    FactKind.INDUSTRIAL_PROCESS_SHUTDOWN_REQUIRED: (),
    FactKind.MOTHBALLED: (),
    FactKind.RETURNED_TO_SERVICE: (),
    FactKind.FULL_CHARGE_CHANGE: (_FULL_CHARGE, FactKey("method", readers.text, "method")),
    FactKind.EXTENSION: (
        FactKey("obligation", _choice(EXTENDABLE_OBLIGATIONS), "obligation", is_required=True),
        FactKey("basis", _choice(EXTENSION_BASES), "basis", is_required=True),
        FactKey("delivered_on", readers.day, "delivered_on", may_be_null=True),
        _UNTIL,
    ),
    FactKind.RETROFIT_OR_RETIREMENT_ELECTED: (),
    FactKind.RETROFIT_OR_RETIREMENT_PLAN: (),
    FactKind.RETROFITTED: (FactKey("refrigerant", find, "refrigerant", is_required=True), _FULL_CHARGE),
    FactKind.RETIRED: (),
    FactKind.RELIEF_REQUESTED: (),
    FactKind.PLAN_EXTENSION: (
        FactKey("until", readers.day, "until", is_required=True),
        FactKey("basis", readers.text, "basis", is_required=True),
    ),
    FactKind.AGENCY_ANSWER: (FactKey("granted", readers.boolean, "granted", is_required=True),),
    FactKind.AUTOMATIC_LEAK_DETECTION: (
        FactKey("type", _choice(DETECTION_TYPES), "detection_type", is_required=True),
    ),
    FactKind.LEAK_DETECTION_CALIBRATION: (),
    FactKind.CHRONIC_LEAK_REPORT_FILED: (_YEAR,),
    FactKind.ANNUAL_REPORT_FILED: (_YEAR,),
    FactKind.LEAK_RATE_METHOD_CHANGE: (
        FactKey("leak_rate_method", _choice(tuple(LeakRateMethod)), "method", is_required=True),
    ),
}

_COMMON_KEYS = (
    FactKey("on", readers.day, "on", is_required=True),
    FactKey("event", readers.text, "event", may_be_null=True),
)


def fact_keys(kind: FactKind) -> tuple[FactKey, ...]:
    """The keys that a fact of a kind takes beside ``kind``: the day and the event, then its own."""
    return (*_COMMON_KEYS, *_KEYS[kind])


def read_fact(document: Any, field: str) -> Fact:
    """Reads one fact of the document.

    Raises:
        InvalidInput: an unknown kind, a key its kind doesn't take, a missing one, or a value that can't be read.
    """
    if not isinstance(document, Mapping):
        raise InvalidInput(field, document, "an object")
    if "kind" not in document:
        raise InvalidInput(f"{field}.kind", None, "a value; it is missing")
    kind = FactKind(readers.one_of(document["kind"], f"{field}.kind", tuple(FactKind)))
    keys = fact_keys(kind)
    readers.check_keys(
        document,
        field,
        required=["kind", *(key.name for key in keys if key.is_required)],
        optional=[key.name for key in keys if not key.is_required],
    )
    values = {
        key.fills: key.reads(document[key.name], f"{field}.{key.name}")
        for key in keys
        if key.name in document and not (key.may_be_null and document[key.name] is None)
    }
    fact = Fact(kind=kind, **values)
    _check_together(fact, document, field)
    return fact


def _check_together(fact: Fact, document: Mapping[str, Any], field: str) -> None:
    """What one key alone can't show: purged more than added, an extension's date that its basis doesn't take."""
    if fact.mass_mg is not None and fact.purged_and_destroyed_mg > fact.mass_mg:
        expected = "no more than the mass added"
        raise InvalidInput(f"{field}.purged_and_destroyed", document["purged_and_destroyed"], expected)
    if fact.kind is FactKind.EXTENSION:
        _check_extension(fact, document, field)


def _check_extension(fact: Fact, document: Mapping[str, Any], field: str) -> None:
    """Parts take the day of their delivery, California's grounds no day, the others the day until which they hold."""
    if fact.basis in CALIFORNIA_EXTENSION_BASES:
        taken, instead = "", "its days run from the detection of the leak"
    elif fact.basis == "parts":
        taken, instead = "delivered_on", "it takes delivered_on"
    else:
        taken, instead = "until", "it takes until"
    for key in ("until", "delivered_on"):
        if key in document and key != taken:
            expected = f"no such key with the basis {fact.basis}; {instead}"
            raise InvalidInput(f"{field}.{key}", document[key], expected)
    if taken == "until" and fact.until is None:
        raise InvalidInput(f"{field}.until", None, "a value; it is missing")
