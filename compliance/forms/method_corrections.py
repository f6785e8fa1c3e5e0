"""The form that puts a mistaken leak rate method of the register right, or amends such a correction."""

import uuid
from typing import Any

from crispy_forms.layout import Fieldset
from django import forms

from compliance.services.method_corrections import MethodCorrectionEntry
from jobs.forms.layout import page_helper
from jobs.forms.messages import NamedValues
from jobs.models import LeakRateMethod, LeakRateMethodCorrection

ENTRY_FIELDS = ("method", "mistake", "shown_by", "is_mistake", "note", "submission_id")


class MethodCorrectionForm(NamedValues, forms.Form):
    """Which method is right, how the other one came into the register, and what shows it."""

    use_required_attribute = False

    submission_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4)
    method = forms.ChoiceField(
        label="Right method",
        choices=LeakRateMethod.choices,
        widget=forms.RadioSelect,
        help_text="By which the leak rates of the facility were to be calculated from the beginning.",
    )
    mistake = forms.CharField(
        label="How the mistake came about",
        max_length=2000,
        widget=forms.Textarea({"rows": 2}),
        help_text="Such as: the wrong box was ticked when the site was registered.",
    )
    shown_by = forms.CharField(
        label="What shows the right method",
        max_length=240,
        help_text="Such as the owner’s calculations of that time, with their dates, and who keeps them.",
    )
    is_mistake = forms.BooleanField(
        label="The facility used this method from the beginning; only the register was mistaken",
        required=False,
    )
    note = forms.CharField(label="Note", max_length=2000, required=False, widget=forms.Textarea({"rows": 2}))
    reason = forms.CharField(label="Why it is amended", widget=forms.Textarea({"rows": 2}))

    def __init__(self, *args: Any, is_amendment: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        amendment = (Fieldset("Amendment", "reason"),) if is_amendment else ()
        if not is_amendment:
            del self.fields["reason"]
        self.helper = page_helper(
            Fieldset("The correction", "method", "mistake", "shown_by", "is_mistake", "submission_id"),
            Fieldset("Note", "note"),
            *amendment,
        )

    @property
    def entry(self) -> MethodCorrectionEntry:
        """What was typed, once the form is valid."""
        return MethodCorrectionEntry(**{name: self.cleaned_data[name] for name in ENTRY_FIELDS})


def initial_of(correction: LeakRateMethodCorrection) -> dict[str, Any]:
    """A correction as a form stands filled with it."""
    kept = ("method", "mistake", "shown_by", "note")
    return {**{name: getattr(correction, name) for name in kept}, "is_mistake": True}
