"""The boxes by which the list of what runs out is narrowed."""

from django import forms

from compliance.forms.plain import ListFilterForm
from compliance.selectors.expiring import ExpiryFilter
from compliance.selectors.wording import EXPIRIES

WITHIN = (
    ("", "However far off"),
    ("0", "Run out already"),
    ("30", "Within 30 days"),
    ("90", "Within 90 days"),
    ("365", "Within a year"),
)


class ExpiryForm(ListFilterForm):
    """What it is, and how far off its last day."""

    kind = forms.ChoiceField(
        label="What",
        required=False,
        choices=[("", "Everything"), *((kind.value, words.name) for kind, words in EXPIRIES.items())],
    )
    within = forms.ChoiceField(label="Last day", required=False, choices=WITHIN)

    @property
    def wanted(self) -> ExpiryFilter:
        """What to list."""
        self.is_valid()
        typed = self.cleaned_data
        within = typed.get("within") or ""
        return ExpiryFilter(
            search=typed.get("q") or "",
            kind=typed.get("kind") or "",
            within_days=int(within) if within else None,
        )
