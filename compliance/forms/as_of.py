"""The day on which clocks are read, and the instant as known at which."""

import datetime
from typing import Any

from django import forms

from compliance.forms.known_at import KnownAtField, UpToNow
from compliance.rulebook.dates import EARLIEST_ON


class AsOfForm(forms.Form):
    """A day up to today at the site; today unless given."""

    as_of = forms.DateField(required=False, error_messages={"invalid": "Expected a date such as 2026-03-02."})

    def __init__(self, *args: Any, today: datetime.date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today

    def clean_as_of(self) -> datetime.date:
        """Refuse a day that isn't over yet, or one before all records."""
        as_of = self.cleaned_data["as_of"] or self.today
        if not EARLIEST_ON <= as_of <= self.today:
            message = f"Expected a date from {EARLIEST_ON} to {self.today}. You gave “{as_of}”."
            raise forms.ValidationError(message)
        return as_of


class AsKnownForm(UpToNow, AsOfForm):
    """A day up to today at the site, and an instant up to now: both now unless given."""

    known_at = KnownAtField()

    def __init__(self, *args: Any, now: datetime.datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.now = now
