"""The box in which each key of a fact is typed, in a person's words."""

from collections.abc import Callable, Mapping

from django import forms

from compliance.forms.events.widgets import Tiles
from compliance.rulebook.facts import ADDITION_REASONS, EXTENDABLE_OBLIGATIONS, REMOVAL_REASONS, FactKind
from compliance.rulebook.refrigerants import all_refrigerants
from compliance.selectors.fact_words import DETECTION_TYPES, EXTENSION_BASES
from compliance.selectors.wording import KINDS, METHODS
from jobs.forms.layout import DateField
from jobs.forms.masses import MassField
from jobs.models import TransferReason

LONGEST_TEXT = 500

Choices = list[tuple[str, str]]


def refrigerant_choices() -> Choices:
    """Every refrigerant of the table."""
    return [(row.designation, row.designation) for row in all_refrigerants()]


def _yes_or_no(label: str, yes: str, no: str) -> forms.TypedChoiceField:
    return forms.TypedChoiceField(
        label=label,
        choices=(("yes", yes), ("no", no)),
        coerce=lambda value: value == "yes",
        widget=Tiles,
        error_messages={"required": f"Choose {yes.lower()} or {no.lower()}."},
    )


def _text(label: str, *, help_text: str = "") -> forms.CharField:
    return forms.CharField(label=label, help_text=help_text, max_length=LONGEST_TEXT)


def _reason(kind: FactKind) -> forms.ChoiceField:
    reasons = ADDITION_REASONS if kind is FactKind.ADDITION else REMOVAL_REASONS
    return forms.ChoiceField(
        label="Why", choices=[(reason, TransferReason(reason).label) for reason in reasons], initial="service"
    )


def _basis(kind: FactKind) -> forms.Field:
    if kind is FactKind.PLAN_EXTENSION:
        return _text("Why")
    return forms.ChoiceField(label="Why", choices=[("", "Choose"), *EXTENSION_BASES.items()])


def _mass(kind: FactKind) -> MassField:
    return MassField(label="Mass added" if kind is FactKind.ADDITION else "Mass taken out")


def _until(kind: FactKind) -> DateField:
    is_plan = kind is FactKind.PLAN_EXTENSION
    return DateField(
        label="Asked for until" if is_plan else "Until",
        help_text="" if is_plan else "Not for parts, nor on grounds of California.",
    )


BOXES: Mapping[str, Callable[[FactKind], forms.Field]] = {
    "on": lambda _: DateField(label="Date"),
    "mass": _mass,
    "reason": _reason,
    "leak": lambda _: _text("Leak", help_text="Any name. What is added for one leak counts together."),
    "purged_and_destroyed": lambda _: MassField(
        label="Of it purged and destroyed", help_text="Doesn’t count as leaked (40 CFR 82.152)."
    ),
    "leaks_found": lambda _: forms.IntegerField(label="Leaks found", min_value=0, max_value=100_000),
    "evacuated": lambda _: forms.BooleanField(
        label="The appliance or the isolated part was evacuated for it"
    ),
    "passed": lambda _: _yes_or_no("Result", "Passed", "Failed"),
    "all_leaks": lambda _: forms.BooleanField(label="It showed every identified leak repaired", initial=True),
    "full_charge": lambda _: MassField(label="New full charge"),
    "method": lambda _: _text("How it was determined"),
    "leak_rate_method": lambda _: forms.ChoiceField(
        label="Leak rate method from then on",
        choices=[("", "Choose"), *((method, words.capitalize()) for method, words in METHODS.items())],
    ),
    "obligation": lambda _: forms.ChoiceField(
        label="Longer time for",
        choices=[
            ("", "Choose"),
            *((kind, KINDS[kind].name) for kind in KINDS if kind in EXTENDABLE_OBLIGATIONS),
        ],
    ),
    "basis": _basis,
    "delivered_on": lambda _: DateField(
        label="Parts delivered on", help_text="For parts alone; leave it empty while nobody knows."
    ),
    "until": _until,
    "refrigerant": lambda _: forms.ChoiceField(
        label="New refrigerant", choices=[("", "Choose"), *refrigerant_choices()]
    ),
    "granted": lambda _: _yes_or_no("Answer", "Granted", "Refused"),
    "type": lambda _: forms.ChoiceField(
        label="Which kind", choices=[("", "Choose"), *DETECTION_TYPES.items()]
    ),
    "year": lambda _: forms.IntegerField(label="Calendar year of the report", min_value=1900, max_value=2199),
    "event": lambda _: _text(
        "Service event", help_text="Any name. What went in and out in one event counts by its net."
    ),
}
