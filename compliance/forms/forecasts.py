"""The boxes by which the forecast is narrowed."""

from django import forms

from compliance.forms.plain import ListFilterForm
from compliance.selectors.forecasts import ForecastFilter
from jobs.models import Customer


class ForecastForm(ListFilterForm):
    """Which estimates, and whose appliances."""

    show = forms.ChoiceField(
        required=False,
        choices=[("", "Every estimate"), ("soon", "May go over a threshold within 90 days")],
    )
    customer = forms.ModelChoiceField(Customer.objects.all(), required=False, empty_label="Any customer")

    @property
    def wanted(self) -> ForecastFilter:
        """What to show."""
        self.is_valid()
        typed = self.cleaned_data
        return ForecastFilter(
            search=typed.get("q") or "",
            customer=typed.get("customer"),
            is_soon=typed.get("show") == "soon",
        )
