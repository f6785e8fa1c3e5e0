"""Puts what a service refused onto the fields of the form that it came from."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from django.forms import BaseForm, BaseFormSet, ChoiceField, Field, ModelChoiceField
from django.utils.choices import flatten_choices

from jobs.errors import Refusal, SubmissionRefused

ROW_FIELD = re.compile(r"(?P<formset>[a-z_]+)-(?P<row>\d+)-(?P<name>[a-z_]+)")


def add_refusals(
    form: BaseForm,
    error: SubmissionRefused,
    formsets: Mapping[str, Sequence[BaseForm] | BaseFormSet] | None = None,
) -> None:
    """Show each refusal at its field, with the value given and what is expected.

    Args:
        form: the form of the page; takes whatever belongs to no other field.
        error: what the service raised.
        formsets: by the name used in refusals (``transfers`` of ``transfers-0-mass``), the forms in the order in
            which their entries were handed to the service.
    """
    for refusal in error.refusals:
        target, name = _place(form, refusal, formsets or {})
        if name is None or name not in target.fields or target[name].is_hidden:
            label = refusal.field.replace("_", " ").replace("-", " ").strip()
            target.add_error(None, f"{label.capitalize()}: {refusal}" if label else str(refusal))
        else:
            target.add_error(name, str(_in_its_words(refusal, target.fields[name])))


def _in_its_words(refusal: Refusal, field: Field) -> Refusal:
    """A refused choice by the words in which the form offers it."""
    if not isinstance(field, ChoiceField) or isinstance(field, ModelChoiceField):
        return refusal
    words = {str(value): str(label) for value, label in flatten_choices(field.choices)}
    return replace(refusal, value=words.get(str(refusal.value), refusal.value))


def _place(
    form: BaseForm, refusal: Refusal, formsets: Mapping[str, Sequence[BaseForm] | BaseFormSet]
) -> tuple[BaseForm, str | None]:
    """Return the form that holds the refused field, and the field's name in it if it has one."""
    match = ROW_FIELD.fullmatch(refusal.field)
    if match is None:
        return form, refusal.field or None
    rows = list(formsets.get(match["formset"], ()))
    row = int(match["row"])
    return (rows[row], match["name"]) if row < len(rows) else (form, None)
