"""The boxes by which the list of what runs out is narrowed."""

from typing import Any

from django import forms

from compliance.selectors.expiring import ExpiryFilter
from compliance.selectors.wording import EXPIRIES
from jobs.forms.messages import NamedValues

WITHIN = (
    ("", "However far off"),
    ("0", "Run out already"),
    ("30", "Within 30 days"),
    ("90", "Within 90 days"),
    ("365", "Within a year"),
)


class ExpiryForm(NamedValues, forms.Form):
    """Search words and filters, all optional, sent by GET."""

    q = forms.CharField(label="Search", required=False, max_length=200)
    kind = forms.ChoiceField(
        label="What",
        required=False,
        choices=[("", "Everything"), *((kind.value, words.name) for kind, words in EXPIRIES.items())],
    )
    within = forms.ChoiceField(label="Last day", required=False, choices=WITHIN)

    use_required_attribute = False

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        for field in self.fields.values():
            is_select = isinstance(field.widget, forms.Select)
            field.widget.attrs["class"] = "form-select" if is_select else "form-control"

    @property
    def wanted(self) -> ExpiryFilter:
        """What to list; a box that can't be read narrows nothing, and says so beside it."""
        self.is_valid()
        typed = self.cleaned_data
        within = typed.get("within") or ""
        return ExpiryFilter(
            search=typed.get("q") or "",
            kind=typed.get("kind") or "",
            within_days=int(within) if within else None,
        )

    @property
    def is_narrowed(self) -> bool:
        """Whether anything is chosen or couldn't be read."""
        return bool(self.errors) or any(self.cleaned_data.values())
