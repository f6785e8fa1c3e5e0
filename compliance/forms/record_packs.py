"""Whose records to pack, and of which visits."""

import datetime
from typing import Any

from django import forms

from compliance.forms.known_at import KnownAtField, UpToNow
from compliance.forms.plain import PlainForm
from compliance.rulebook.dates import EARLIEST_ON
from jobs.models import Appliance, Customer, Site

SUBJECTS = ("customer", "site", "appliance")


class RecordPackForm(UpToNow, PlainForm):
    """A customer, a site or an appliance, and a period; the narrowest that is chosen counts."""

    customer = forms.ModelChoiceField(Customer.objects.all(), required=False, empty_label="Choose …")
    site = forms.ModelChoiceField(
        Site.objects.select_related("customer").order_by("customer__name", "name"),
        required=False,
        empty_label="or one site …",
    )
    appliance = forms.ModelChoiceField(
        Appliance.objects.select_related("site__customer").order_by("site__name", "name"),
        required=False,
        empty_label="or one appliance …",
    )
    happened_from = forms.DateField(label="Visits from", widget=forms.DateInput(attrs={"type": "date"}))
    happened_to = forms.DateField(label="Visits to", widget=forms.DateInput(attrs={"type": "date"}))

    known_at = KnownAtField()

    def __init__(self, *args: Any, today: datetime.date, now: datetime.datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today, self.now = today, now
        self.fields["site"].label_from_instance = lambda site: f"{site.customer.name}: {site.name}"
        self.fields["appliance"].label_from_instance = lambda row: f"{row.site.name}: {row.name}"

    def clean(self) -> dict[str, Any]:
        """Refuse a pack of nobody, and a period that runs backwards or isn't over."""
        chosen = super().clean() or self.cleaned_data
        if not self.errors.keys() & set(SUBJECTS) and not any(chosen.get(name) for name in SUBJECTS):
            self.add_error("customer", "Expected a customer, a site or an appliance. You gave none.")
        first, last = chosen.get("happened_from"), chosen.get("happened_to")
        if first and not EARLIEST_ON <= first <= self.today:
            expected = f"Expected a date from {EARLIEST_ON} to {self.today}. You gave “{first}”."
            self.add_error("happened_from", expected)
        elif first and last and not first <= last <= self.today:
            expected = f"Expected a date from {first} to {self.today}. You gave “{last}”."
            self.add_error("happened_to", expected)
        return chosen

    @property
    def subject(self) -> Customer | Site | Appliance:
        """The narrowest that was chosen, once the form is valid."""
        return next(self.cleaned_data[name] for name in reversed(SUBJECTS) if self.cleaned_data[name])
