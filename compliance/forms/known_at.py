"""The instant as known at which something is said again."""

import datetime
from typing import Any

from django import forms


class KnownAtField(forms.DateTimeField):
    """A box for an instant; now unless given."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            label="Records known at",
            required=False,
            help_text="Now unless given: what was filed later doesn't count.",
            widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
            error_messages={"invalid": "Expected a date and a time such as 2026-03-02T14:30."},
            **kwargs,
        )


class UpToNow:
    """Of a form with such a box, ``known_at``: what is still to come is refused, since it can't be known yet."""

    now: datetime.datetime
    cleaned_data: dict[str, Any]

    def clean_known_at(self) -> datetime.datetime:
        """The instant that was chosen, or now."""
        chosen: datetime.datetime | None = self.cleaned_data["known_at"]
        if chosen and chosen > self.now:
            expected = f"Expected an instant up to {self.now:%Y-%m-%d %H:%M %Z}."
            raise forms.ValidationError(f"{expected} You gave “{chosen:%Y-%m-%d %H:%M %Z}”.")
        return chosen or self.now
