"""One fact as a form: the boxes that its kind takes, and no others."""

import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from compliance.forms.events.styled import StyledForm
from compliance.forms.what_if.boxes import BOXES
from compliance.forms.what_if.quantities import entered_mass, written_quantity
from compliance.rulebook.document import Document
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.facts import FactKind
from compliance.rulebook.parse_facts import fact_keys, read_fact
from compliance.selectors.fact_words import FACT_KINDS, NO_BREAK_SPACE, quantity_in_words
from jobs.forms.masses import MassField
from jobs.forms.messages import shown_value
from jobs.services.entries import EnteredMass

# What a key's absence means; it isn't written out.
ABSENT = {"reason": "service", "evacuated": False, "all_leaks": True}
YES_OR_NO = ("passed", "granted")
ALWAYS_SHOWN_LAST = "event"


class FactForm(StyledForm):
    """One fact of a kind, with the keys that the rulebook takes for it.

    Args:
        kind: of the fact; fixed, since another kind takes other boxes.
        mass_unit: the unit that empty masses begin with.
    """

    def __init__(self, kind: FactKind, *args: Any, mass_unit: str = "lb", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kind = kind
        for key in sorted(fact_keys(kind), key=lambda key: key.name == ALWAYS_SHOWN_LAST):
            field = BOXES[key.name](kind)
            field.required = key.is_required
            if isinstance(field, MassField):
                field.initial = ["", "", mass_unit]
            self.fields[key.name] = field
        self.dress()

    @property
    def name(self) -> str:
        """The kind in plain words."""
        return FACT_KINDS[self.kind]

    @property
    def boxes(self) -> list[forms.BoundField]:
        """The boxes that tell most, in the order in which they are laid out."""
        return [self[name] for name in self.fields if name != ALWAYS_SHOWN_LAST]

    def take_focus(self) -> None:
        """Let typing begin in the first box, where the row was just opened."""
        next(iter(self.fields.values())).widget.attrs["autofocus"] = True

    def clean(self) -> dict[str, Any]:
        """Let the rulebook read the fact, so that what holds between its boxes is checked too."""
        cleaned = super().clean() or self.cleaned_data
        if not self.errors:
            try:
                read_fact(self.fact, "fact")
            except InvalidInput as error:
                self._refuse(error)
        return cleaned

    @property
    def fact(self) -> Document:
        """What was typed, as a fact of the document; only once the boxes are read."""
        written = {
            name: _plain(value)
            for name, value in self.cleaned_data.items()
            if value not in (None, "") and ABSENT.get(name) != value
        }
        return {"on": written.pop("on"), "kind": self.kind.value, **written}

    def _refuse(self, error: InvalidInput) -> None:
        """Show what the rulebook refused at the box it stood in."""
        _, _, path = error.field.partition(".")
        name = path.partition(".")[0]
        self.add_error(name if name in self.fields else None, ValidationError(refusal_in_words(error)))


def fact_initial(fact: Document) -> dict[str, Any]:
    """A fact of a document as the boxes begin with it."""
    return {key: _typed(key, value) for key, value in fact.items() if key != "kind" and value is not None}


def refusal_in_words(error: InvalidInput) -> str:
    """What the rulebook refused, in the words of every form."""
    given = error.value
    if isinstance(given, dict) and set(given) in ({"value", "unit"}, {"lb", "oz"}):
        given = quantity_in_words(given).replace(NO_BREAK_SPACE, " ")
    return f"Expected {error.expected}. You gave {shown_value(given)}."


def _typed(key: str, value: Any) -> Any:
    if isinstance(value, dict):
        return entered_mass(value)
    if key in YES_OR_NO:
        return "yes" if value else "no"
    return int(value) if key == "leaks_found" else value


def _plain(value: Any) -> Any:
    if isinstance(value, EnteredMass):
        return written_quantity(value)
    return value.isoformat() if isinstance(value, datetime.date) else value
