"""How a kind of filing is described: its name, its paragraph, and the evidence that the paragraph asks for."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from compliance.rulebook.rules import US_CALIFORNIA, US_FEDERAL_HFC, US_FEDERAL_ODS

SECTIONS = {US_FEDERAL_ODS: "82.157", US_FEDERAL_HFC: "84.106"}


class FilingKind(StrEnum):
    """Everything that is filed about a case; where the rules read a fact of that kind, the value is the fact's."""

    EXTENSION = "extension"
    SHUTDOWN_REQUIRED = "industrial_process_shutdown_required"
    MOTHBALLED = "mothballed"
    RETURNED_TO_SERVICE = "returned_to_service"
    SEASONAL_VARIANCE = "seasonal_variance"
    PURGED_AND_DESTROYED = "purged_and_destroyed"
    RETROFIT_OR_RETIREMENT_ELECTED = "retrofit_or_retirement_elected"
    RETROFIT_OR_RETIREMENT_PLAN = "retrofit_or_retirement_plan"
    RELIEF_REQUESTED = "relief_requested"
    PLAN_EXTENSION = "plan_extension"
    AGENCY_ANSWER = "agency_answer"
    CHRONIC_LEAK_REPORT_FILED = "chronic_leak_report_filed"
    ANNUAL_REPORT_FILED = "annual_report_filed"
    AUTOMATIC_LEAK_DETECTION = "automatic_leak_detection"
    LEAK_DETECTION_ALARM = "leak_detection_alarm"
    LEAK_DETECTION_CALIBRATION = "leak_detection_calibration"


class EvidenceType(StrEnum):
    """What a piece of evidence is, and so how it stands in the details of a filing.

    A day is ``YYYY-MM-DD``, a number its decimal text, a mass ``{"value", "unit", "mg"}`` as typed and in milligrams,
    a visit the reference of a service event, a yes ``true``.
    """

    LINE = "line"
    TEXT = "text"
    DAY = "day"
    CHOICE = "choice"
    YES = "yes"
    NUMBER = "number"
    YEAR = "year"
    REFRIGERANT = "refrigerant"
    MASS = "mass"
    VISIT_THAT_REMOVED = "visit_that_removed"
    VISIT_THAT_ADDED = "visit_that_added"


@dataclass(frozen=True)
class Paragraph:
    """A paragraph of the two federal sections, which don't number everything alike, and what stands elsewhere.

    ``california`` is what California's rule has for it, printed only where that rule applies.
    """

    ods: str = ""
    hfc: str = ""
    elsewhere: str = ""
    california: str = ""

    def cited(self, rules: Iterable[str] = ()) -> str:
        """The paragraph as printed, for the rules that apply; for every federal one if none of them has it."""
        rules = tuple(rules)
        own = {US_FEDERAL_ODS: self.ods, US_FEDERAL_HFC: self.hfc}
        state = self.california if US_CALIFORNIA in rules else ""
        named = [rule for rule in own if own[rule] and rule in rules]
        if not named and not state:
            named = [rule for rule in own if own[rule]]
        sections = ", ".join(f"{SECTIONS[rule]}{own[rule]}" for rule in named)
        return (
            "; ".join(part for part in (sections and f"40 CFR {sections}", state) if part) or self.elsewhere
        )


def both(paragraph: str) -> Paragraph:
    """A paragraph that has the same letters in 40 CFR 82.157 and 84.106."""
    return Paragraph(paragraph, paragraph)


@dataclass(frozen=True)
class EvidenceField:
    """One thing that a filing has to say.

    ``only`` names another field and its values under which this one is asked for; ``required_by`` narrows a required
    field to the rules that demand it; ``unit_field`` names the choice that is a number's unit; ``rules_of_choices``
    the rules that know a choice, where not every rule does.
    """

    name: str
    label: str
    type: EvidenceType = EvidenceType.LINE
    paragraph: Paragraph = Paragraph()
    hint: str = ""
    is_required: bool = True
    choices: tuple[tuple[str, str], ...] = ()
    only: tuple[str, tuple[str, ...]] | None = None
    required_by: tuple[str, ...] = ()
    unit_field: str = ""
    rules_of_choices: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def offered(self, rules: Iterable[str]) -> tuple[tuple[str, str], ...]:
        """The choices that these rules know; those of every rule if they know none."""
        known = {*rules}
        own = tuple(
            (name, label)
            for name, label in self.choices
            if not self.rules_of_choices.get(name) or known & {*self.rules_of_choices[name]}
        )
        return own or self.choices

    def is_asked(self, details: Mapping[str, Any]) -> bool:
        """Whether a filing with these details is asked for it."""
        return self.only is None or details.get(self.only[0]) in self.only[1]

    def is_demanded(self, details: Mapping[str, Any], rules: Iterable[str]) -> bool:
        """Whether a filing with these details, under these rules, can't do without it."""
        by_rule = not self.required_by or any(rule in self.required_by for rule in rules)
        return self.is_required and by_rule and self.is_asked(details)


@dataclass(frozen=True)
class FilingSpec:
    """A kind of filing: its name, what its day means, why it is filed, its paragraph and its evidence.

    ``summary`` names the evidence that tells the filing in a line; ``needs_rules`` are the rule sets of a site at which
    it can be filed, anywhere if empty.
    """

    kind: FilingKind
    name: str
    day_label: str
    why: str
    paragraph: Paragraph
    fields: tuple[EvidenceField, ...]
    summary: tuple[str, ...] = ()
    needs_rules: tuple[str, ...] = ()

    @property
    def slug(self) -> str:
        """How addresses name the kind."""
        return self.kind.value.replace("_", "-")

    def cited(self, details: Mapping[str, Any], rules: Iterable[str]) -> str:
        """The paragraph of a filing with these details: of the rules, those that know what is chosen."""
        known = {*rules}
        for asked in self.fields:
            if asked.rules_of_choices:
                known &= {*asked.rules_of_choices.get(details.get(asked.name, ""), known)}
        return self.paragraph.cited(known)

    def field(self, name: str) -> EvidenceField:
        """The evidence of that name."""
        return next(field for field in self.fields if field.name == name)


# How a request or report went to the agency, which every paragraph that asks for one wants to be shown.
SIGNED_BY = EvidenceField(
    "signed_by",
    "Signed by",
    hint="Name and position of the authorized official of the owner or operator.",
)
SENT_BY = EvidenceField(
    "sent_by",
    "How it was sent",
    hint="Under 40 CFR 84.106 by the agency’s electronic reporting system; under 82.157 to 608reports@epa.gov.",
)
RECEIPT_NUMBER = EvidenceField(
    "receipt_number",
    "Number of the receipt",
    hint="Silence counts as approval, so the proof of sending is what counts.",
    is_required=False,
)
