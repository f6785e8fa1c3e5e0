"""The boxes by which the forecast is narrowed."""

from typing import Any

from django import forms

from compliance.selectors.forecasts import ForecastFilter
from jobs.forms.messages import NamedValues
from jobs.models import Customer


class ForecastForm(NamedValues, forms.Form):
    """Search words and filters, all optional, sent by GET."""

    q = forms.CharField(label="Search", required=False, max_length=200)
    customer = forms.ModelChoiceField(Customer.objects.all(), required=False, empty_label="Any customer")
    show = forms.ChoiceField(
        required=False,
        choices=[("", "Every estimate"), ("soon", "May go over a threshold within 90 days")],
    )

    use_required_attribute = False

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        for field in self.fields.values():
            is_select = isinstance(field.widget, forms.Select)
            field.widget.attrs["class"] = "form-select" if is_select else "form-control"

    @property
    def wanted(self) -> ForecastFilter:
        """What to show; a box that can't be read narrows nothing, and says so beside it."""
        self.is_valid()
        typed = self.cleaned_data
        return ForecastFilter(
            search=typed.get("q") or "",
            customer=typed.get("customer"),
            is_soon=typed.get("show") == "soon",
        )

    @property
    def is_narrowed(self) -> bool:
        """Whether anything is chosen or couldn't be read."""
        return bool(self.errors) or any(self.cleaned_data.values())
