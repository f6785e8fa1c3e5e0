"""The evidence of a filing as lines of its paper."""

from collections.abc import Iterator, Mapping
from typing import Any

from compliance.rulebook.filings.specs import EvidenceField, EvidenceType, FilingSpec
from compliance.rulebook.masses import format_mass
from compliance.selectors.papers.parts import Choice, PaperLine

# Who signed and how it was sent is known once it is, and the signature has a place of its own; the year is among the
# figures of its loss.
LEFT_OUT = ("signed_by", "sent_by", "receipt_number", "year")
# What the tables of a paper say already, which its form has no room for.
PAPER_HINTS = {"repair_actions": "The work on record is listed above; add what else was done."}


def evidence_lines(
    spec: FilingSpec, details: Mapping[str, Any], rules: tuple[str, ...]
) -> Iterator[PaperLine]:
    """Every piece of evidence that the kind asks for, filled as far as it is known.

    What is asked for in one case alone says in which, as long as that isn't chosen; then the others are left out.
    """
    for field in spec.fields:
        if field.name in LEFT_OUT or not _may_be_asked(spec, field, details, rules):
            continue
        value = details.get(field.name)
        is_choice = field.type in {EvidenceType.CHOICE, EvidenceType.YES}
        yield PaperLine(
            label=field.label,
            answer="" if is_choice or value in (None, "") else _in_words(field, value),
            citation=field.paragraph.cited(rules),
            choices=tuple(_choices(field, value, rules)) if is_choice else (),
            hint=PAPER_HINTS.get(field.name, field.hint),
            only_for=_condition(spec, field, details, rules),
            is_required=field.is_required
            and (not field.required_by or bool({*field.required_by} & {*rules})),
            is_long=field.type is EvidenceType.TEXT,
        )


def _may_be_asked(
    spec: FilingSpec, field: EvidenceField, details: Mapping[str, Any], rules: tuple[str, ...]
) -> bool:
    """Whether it is asked for with what is chosen, or may be with a choice that the rules of the paper know."""
    if field.only is None or field.is_asked(details):
        return True
    name, values = field.only
    known = {choice for choice, _ in spec.field(name).offered(rules)}
    return details.get(name) in (None, "") and not known.isdisjoint(values)


def _choices(field: EvidenceField, value: Any, rules: tuple[str, ...]) -> Iterator[Choice]:
    options = field.offered(rules) or (("yes", "Yes"),)
    chosen = "yes" if value is True else value
    return (Choice(label, name == chosen) for name, label in options)


def _condition(
    spec: FilingSpec, field: EvidenceField, details: Mapping[str, Any], rules: tuple[str, ...]
) -> str:
    """In which case the field is asked for, as long as that is open; nothing where every case asks for it."""
    if field.only is None or details.get(field.only[0]):
        return ""
    name, values = field.only
    labels = dict(spec.field(name).offered(rules))
    return "" if labels.keys() <= {*values} else "; ".join(labels[value] for value in values)


def _in_words(field: EvidenceField, value: Any) -> str:
    if field.type is EvidenceType.MASS:
        return f"{value['value']} {value['unit']} ({format_mass(value['mg'], 'kg')})"
    return str(value)
