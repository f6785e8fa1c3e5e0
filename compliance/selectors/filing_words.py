"""A filing in words: each piece of its evidence, and all of it in a line."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from compliance.rulebook.filings.specs import EvidenceField, EvidenceType, FilingSpec
from compliance.rulebook.masses import format_mass
from compliance.selectors.wording import lower_first
from jobs.models import CaseFiling
from jobs.models.events import event_id_of
from jobs.models.ledger import mass_as_typed

VISITS = (EvidenceType.VISIT_THAT_REMOVED, EvidenceType.VISIT_THAT_ADDED)


@dataclass(frozen=True)
class EvidenceWords:
    """One piece of evidence: what it is, what it says, and the service event that it names, if it names one."""

    label: str
    text: str
    event_id: int | None = None


def evidence_in_words(filing: CaseFiling) -> list[EvidenceWords]:
    """Each piece of a filing's evidence, in the order of its form."""
    units = {field.unit_field for field in filing.spec.fields}
    return [
        EvidenceWords(
            field.label, _words(field, filing.spec, filing.details), _event_id(field, filing.details)
        )
        for field in filing.spec.fields
        if filing.details.get(field.name) not in (None, "", False) and field.name not in units
    ]


def what_was_filed(filing: CaseFiling) -> list[str]:
    """A filing in a sentence, and its note."""
    name = filing.spec.name
    told = "; ".join(_summary(filing.spec, filing.details))
    return [f"{name}: {told}." if told else f"{name}.", *([filing.note] if filing.note else [])]


def _summary(spec: FilingSpec, details: Mapping[str, Any]) -> Iterator[str]:
    for name in spec.summary:
        field = spec.field(name)
        if details.get(name) in (None, "", False):
            continue
        text = _words(field, spec, details)
        if field.type is EvidenceType.CHOICE:
            yield lower_first(text)
        elif field.type is EvidenceType.DAY:
            yield f"{lower_first(field.label)} {text}"
        else:
            yield f"{lower_first(field.label)}: {text}"


def _words(field: EvidenceField, spec: FilingSpec, details: Mapping[str, Any]) -> str:
    value = details[field.name]
    if field.type is EvidenceType.CHOICE:
        return dict(field.choices).get(value, str(value))
    if field.type is EvidenceType.YES:
        return "Yes"
    if field.type is EvidenceType.MASS:
        return f"{mass_as_typed(value['value'], value['unit'])} ({format_mass(value['mg'], 'kg')})"
    if field.unit_field:
        unit = details.get(field.unit_field, "")
        return f"{value} {dict(spec.field(field.unit_field).choices).get(unit, unit)}"
    return str(value)


def _event_id(field: EvidenceField, details: Mapping[str, Any]) -> int | None:
    return event_id_of(str(details[field.name])) if field.type in VISITS else None
