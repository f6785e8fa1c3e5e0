"""The evidence of a filing as it is stored: read by type, and checked against what its kind asks for."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from compliance.rulebook.dates import EARLIEST_ON, LATEST_ON, parse_date
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.filings.specs import EvidenceField, EvidenceType, FilingSpec
from compliance.rulebook.refrigerants import find

LINE_LENGTH_MAX, TEXT_LENGTH_MAX = 240, 4000


@dataclass(frozen=True)
class Objection:
    """One reason why something can't be filed: field, value given, a sentence of what is expected, paragraph."""

    field: str
    value: Any
    expected: str
    citation: str = ""


@dataclass(frozen=True)
class Details:
    """Stored evidence, read by type; what isn't there is nothing, empty or ``None``."""

    values: Mapping[str, Any]

    def text(self, name: str) -> str:
        """A line, a text, a choice or the reference of a visit."""
        return str(self.values.get(name) or "")

    def day(self, name: str) -> date | None:
        """A day."""
        value = self.values.get(name)
        return None if not value else date.fromisoformat(value)

    def number(self, name: str) -> Decimal | None:
        """A number."""
        value = self.values.get(name)
        return None if value in (None, "") else Decimal(str(value))

    def year(self, name: str) -> int | None:
        """A calendar year."""
        return self.values.get(name)

    def mass_mg(self, name: str) -> int | None:
        """A mass in milligrams."""
        value = self.values.get(name)
        return None if not value else value["mg"]


def check_details(spec: FilingSpec, details: Mapping[str, Any], rules: Iterable[str]) -> Iterator[Objection]:
    """Yields what is missing, what isn't asked for and what can't be read.

    Args:
        spec: the kind of filing.
        details: its evidence as it is to be stored.
        rules: the rules that apply to the appliance, such as ``us-federal-hfc``.
    """
    rules = tuple(rules)
    known = {field.name for field in spec.fields}
    for name in details:
        if name not in known:
            yield Objection(
                name, details[name], f"Expected nothing of that name; “{spec.name}” doesn’t take it."
            )
    for field in spec.fields:
        value = details.get(field.name)
        citation = field.paragraph.cited(rules)
        if value in (None, "", False):
            if field.is_demanded(details, rules):
                yield Objection(field.name, None, _missing(field), citation)
        elif not field.is_asked(details):
            yield Objection(field.name, value, "Expected nothing here with what is chosen above.", citation)
        elif expected := _unreadable(field, value):
            yield Objection(field.name, value, f"Expected {expected}.", citation)
        elif field.choices and value not in dict(offered := field.offered(rules)):
            labels = ", ".join(f"“{label}”" for _, label in offered)
            expected = f"Expected what a rule that applied knows: {labels}."
            yield Objection(field.name, value, expected, field.paragraph.cited(field.rules_of_choices[value]))


def _missing(field: EvidenceField) -> str:
    if field.type is EvidenceType.YES:
        return f"Expected this to be so: {field.label[0].lower()}{field.label[1:]}."
    return f"Expected an entry: {field.label[0].lower()}{field.label[1:]}."


def _unreadable(field: EvidenceField, value: Any) -> str:
    """What would have been right, where the value can't be what the field is; nothing where it is fine."""
    reader = _READERS[field.type]
    try:
        return reader(field, value)
    except InvalidInput as problem:
        return problem.expected


def _line(field: EvidenceField, value: Any) -> str:
    longest = TEXT_LENGTH_MAX if field.type is EvidenceType.TEXT else LINE_LENGTH_MAX
    is_fine = isinstance(value, str) and value.strip() == value and len(value) <= longest
    return "" if is_fine else f"at most {longest} characters"


def _day(field: EvidenceField, value: Any) -> str:
    parse_date(value, field.name)
    return ""


def _choice(field: EvidenceField, value: Any) -> str:
    names = [name for name, _ in field.choices]
    return "" if value in names else "one of " + ", ".join(names)


def _yes(field: EvidenceField, value: Any) -> str:
    return "" if value is True else "yes or nothing"


def _number(field: EvidenceField, value: Any) -> str:
    try:
        number = Decimal(value) if isinstance(value, str) else Decimal("NaN")
    except InvalidOperation:
        return "a number"
    return "" if number.is_finite() else "a number"


def _year(field: EvidenceField, value: Any) -> str:
    is_year = (
        isinstance(value, int) and not isinstance(value, bool) and EARLIEST_ON.year <= value <= LATEST_ON.year
    )
    return "" if is_year else "a calendar year such as 2026"


def _refrigerant(field: EvidenceField, value: Any) -> str:
    designation = find(value).designation
    return "" if value == designation else designation


def _mass(field: EvidenceField, value: Any) -> str:
    is_mass = isinstance(value, Mapping) and isinstance(value.get("mg"), int) and value["mg"] > 0
    return "" if is_mass else "a mass above zero"


_READERS = {
    EvidenceType.LINE: _line,
    EvidenceType.TEXT: _line,
    EvidenceType.VISIT_THAT_REMOVED: _line,
    EvidenceType.VISIT_THAT_ADDED: _line,
    EvidenceType.DAY: _day,
    EvidenceType.CHOICE: _choice,
    EvidenceType.YES: _yes,
    EvidenceType.NUMBER: _number,
    EvidenceType.YEAR: _year,
    EvidenceType.REFRIGERANT: _refrigerant,
    EvidenceType.MASS: _mass,
}
