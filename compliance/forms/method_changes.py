"""The form that files a change of a facility's leak rate method, or amends one."""

import uuid
from typing import Any

from crispy_forms.layout import Fieldset
from django import forms

from compliance.rulebook.method_change import CITATION, RECORD_CITATION
from compliance.services.method_changes import MethodChangeEntry
from jobs.forms.layout import DateField, page_helper, side_by_side
from jobs.forms.messages import NamedValues
from jobs.models import LeakRateMethod, LeakRateMethodChange

ENTRY_FIELDS = (
    *("method", "happened_on", "acquired_on", "acquired_from", "is_owners_method", "decided_by", "note"),
    "submission_id",
)


class MethodChangeForm(NamedValues, forms.Form):
    """What 40 CFR 84.106(l)(3) wants on record; the results of both methods are taken from the records."""

    use_required_attribute = False

    submission_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4)
    method = forms.ChoiceField(label="New method", choices=LeakRateMethod.choices, widget=forms.RadioSelect)
    happened_on = DateField(
        label="Adopted on",
        help_text="The first day of the new method; what was calculated before stays as it is.",
    )
    acquired_on = DateField(label="Facility acquired on", help_text=f"By the owner or operator ({CITATION}).")
    acquired_from = forms.CharField(label="Acquired from", max_length=160)
    is_owners_method = forms.BooleanField(
        label="The owner or operator uses the new method at other facilities",
        required=False,
        help_text=f"A facility keeps its method unless it was acquired with the other one ({CITATION}).",
    )
    decided_by = forms.CharField(
        label="Decided by",
        max_length=160,
        help_text=f"Of the owner or operator; the record names it ({RECORD_CITATION}).",
    )
    note = forms.CharField(label="Note", max_length=2000, required=False, widget=forms.Textarea({"rows": 2}))
    reason = forms.CharField(label="Why it is amended", widget=forms.Textarea({"rows": 2}))

    def __init__(self, *args: Any, is_amendment: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        amendment = (Fieldset("Amendment", "reason"),) if is_amendment else ()
        if not is_amendment:
            del self.fields["reason"]
        self.helper = page_helper(
            Fieldset("The change", "method", "happened_on", "submission_id"),
            Fieldset(
                "Why it is allowed",
                side_by_side("acquired_on", "acquired_from"),
                "is_owners_method",
                "decided_by",
            ),
            Fieldset("Note", "note"),
            *amendment,
        )

    @property
    def entry(self) -> MethodChangeEntry:
        """What was typed, once the form is valid."""
        return MethodChangeEntry(**{name: self.cleaned_data[name] for name in ENTRY_FIELDS})


def initial_of(change: LeakRateMethodChange) -> dict[str, Any]:
    """A change as a form stands filled with it."""
    return {name: getattr(change, name) for name in ENTRY_FIELDS if name != "submission_id"}
