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


def clean_known_at(chosen: datetime.datetime | None, now: datetime.datetime) -> datetime.datetime:
    """The instant that was chosen, or now.

    Raises:
        ValidationError: it is still to come, and what will be known then can't be said yet.
    """
    if chosen and chosen > now:
        message = f"Expected an instant up to {now:%Y-%m-%d %H:%M %Z}. You gave “{chosen:%Y-%m-%d %H:%M %Z}”."
        raise forms.ValidationError(message)
    return chosen or now
