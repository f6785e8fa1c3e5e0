"""What a person chooses before running a report."""

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

from django import forms

from compliance.forms.known_at import KnownAtField, UpToNow
from compliance.forms.plain import PlainForm
from compliance.rulebook.inventory import GwpBasis
from compliance.selectors.paper import A4, LETTER
from compliance.selectors.reports.parameters import ReportParameters
from compliance.services.reports.catalogue import ReportType
from jobs.models import Appliance, Customer, Site

#: The first year that the list of years offers.
EARLIEST_YEAR = 2015
SUBJECTS = ("customer", "site", "appliance")


def _customer() -> forms.Field:
    return forms.ModelChoiceField(Customer.objects.all(), required=False, empty_label="All customers")


def _site() -> forms.Field:
    sites = Site.objects.select_related("customer").order_by("customer__name", "name")
    field = forms.ModelChoiceField(sites, required=False, empty_label="All sites")
    field.label_from_instance = lambda site: f"{site.customer.name}: {site.name}"
    return field


def _appliance() -> forms.Field:
    appliances = Appliance.objects.select_related("site").order_by("site__name", "name")
    field = forms.ModelChoiceField(appliances, required=False, empty_label="All appliances")
    field.label_from_instance = lambda appliance: f"{appliance.site.name}: {appliance.name}"
    return field


def _gwp_basis() -> forms.Field:
    choices = [(basis.value, basis.in_words) for basis in GwpBasis]
    return forms.ChoiceField(
        label="Global warming potentials", choices=choices, initial=GwpBasis.AR4.value, required=False
    )


#: The boxes that a report may ask for beside year and day.
BOXES: dict[str, Callable[[], forms.Field]] = {
    "customer": _customer,
    "site": _site,
    "appliance": _appliance,
    "gwp_basis": _gwp_basis,
}


class ReportForm(UpToNow, PlainForm):
    """The question of one report: what its type asks for, a year, and for the curious a day and an instant."""

    year = forms.TypedChoiceField(coerce=int)
    as_of = forms.DateField(
        label="Clocks as of",
        required=False,
        help_text="Today unless given.",
        widget=forms.DateInput(attrs={"type": "date"}),
    )
    known_at = KnownAtField()

    paper = forms.ChoiceField(
        required=False, choices=[("", "That of the place"), (LETTER, "US letter"), (A4, "A4")]
    )

    def __init__(self, *args: Any, report: ReportType, today: date, now: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.report, self.today, self.now = report, today, now
        for name in report.asks:
            self.fields[name] = BOXES[name]()
        if report.is_yearly:
            years = range(today.year, EARLIEST_YEAR - 1, -1)
            self.fields["year"].choices = [(year, str(year)) for year in years]
            self.fields["year"].initial = today.year
        else:
            del self.fields["year"]
        self.order_fields([*report.asks, "year", "as_of", "known_at", "paper"])
        self.dress()

    @property
    def main_fields(self) -> list[forms.BoundField]:
        """What everybody chooses."""
        return [self[name] for name in (*self.report.asks, "year") if name in self.fields]

    @property
    def further_fields(self) -> list[forms.BoundField]:
        """What is chosen to see an earlier state again, or to print on other paper."""
        return [self["as_of"], self["known_at"], self["paper"]]

    @property
    def has_further(self) -> bool:
        """Whether an earlier state is asked for."""
        return any(field.data or field.errors for field in self.further_fields)

    def parameters(self, *, run_by: str) -> ReportParameters:
        """The question, once the form is valid."""
        chosen = self.cleaned_data
        as_of = chosen["as_of"] or self.today
        return ReportParameters(
            as_of=as_of,
            known_at=chosen["known_at"],
            run_by=run_by,
            run_at=self.now,
            year=chosen.get("year", as_of.year),
            **{name: chosen[name] for name in SUBJECTS if name in self.fields},
            options=self._options(),
        )

    def _options(self) -> dict[str, Any]:
        """The answers that are the report's own, and the paper where one was chosen."""
        chosen = self.cleaned_data
        own = {
            name: chosen[name] or self.fields[name].initial
            for name in self.report.asks
            if name not in SUBJECTS
        }
        return own | ({"paper": chosen["paper"]} if chosen["paper"] else {})
