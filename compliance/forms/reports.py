"""What a person chooses before running a report."""

from datetime import date

from django import forms

from jobs.forms.messages import NamedValues
from jobs.models import Customer

#: The first year that the list of years offers.
EARLIEST_YEAR = 2015


class AnnualReportForm(NamedValues, forms.Form):
    """Customer and year of the annual leak rate report."""

    customer = forms.ModelChoiceField(Customer.objects.all(), required=False, empty_label="All customers")
    year = forms.TypedChoiceField(coerce=int)

    def __init__(self, *args: object, today: date, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        years = range(today.year, EARLIEST_YEAR - 1, -1)
        self.fields["year"].choices = [(year, str(year)) for year in years]
        self.fields["year"].initial = today.year
        for field in self.fields.values():
            field.widget.attrs["class"] = "form-select"
