"""What the registers' forms share: fieldsets laid out by crispy, dates that name what was typed, lists of names."""

import datetime
from collections.abc import Iterable
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Div, Fieldset, Layout
from django import forms
from django.core.exceptions import ValidationError

from jobs.forms.messages import NamedValues, shown_value

CHOOSE = "Choose one"


def page_helper(*fieldsets: Fieldset) -> FormHelper:
    """Return a helper that leaves the form tag, the token and the buttons to the page's template."""
    helper = FormHelper()
    helper.form_tag = False
    helper.disable_csrf = True
    # The page lists a form's errors at its top; crispy shows each one at its field.
    helper.layout = Layout(*fieldsets)
    return helper


def side_by_side(*names: str) -> Div:
    """Lay fields out in one row where there is room."""
    return Div(*names, css_class="field-row")


class RegisterForm(NamedValues, forms.ModelForm):
    """A form over a register's row that checks shapes and leaves the row alone: services check and write it."""

    use_required_attribute = False
    fieldsets: tuple[Fieldset, ...] = ()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = page_helper(*self.fieldsets)
        for field in self.fields.values():
            if isinstance(field.widget, forms.Select) and isinstance(field, forms.TypedChoiceField):
                field.choices = [(value, word if value else CHOOSE) for value, word in field.choices]

    def _post_clean(self) -> None:
        """Write nothing into the row, so that a refused page still names the row as it is."""


class DateField(forms.DateField):
    """A date, chosen from the browser's calendar or typed as ISO 8601."""

    widget = forms.DateInput({"type": "date"}, "%Y-%m-%d")
    # 5/1/2019 is two different days on the two sides of an ocean.
    input_formats = ("%Y-%m-%d",)
    expected = "a date such as 2026-03-02"

    def to_python(self, value: Any) -> datetime.date | None:
        """Read a date.

        Raises:
            ValidationError: naming the value given and what is expected.
        """
        try:
            return super().to_python(value)
        except ValidationError:
            message = f"Expected {self.expected}. You gave {shown_value(value)}."
            raise ValidationError(message, code="invalid") from None


class MonthField(DateField):
    """A month, chosen in the browser or typed as ISO 8601; its first day."""

    widget = forms.DateInput({"type": "month"}, "%Y-%m")
    input_formats = ("%Y-%m",)
    expected = "a month such as 2026-03"


class SuggestInput(forms.TextInput):
    """A text box that suggests known names, each with a word on it; anything else may be typed."""

    template_name = "jobs/widgets/suggest.html"

    def __init__(
        self, suggestions: Iterable[tuple[str, str]] = (), attrs: dict[str, Any] | None = None
    ) -> None:
        self.suggestions = suggestions
        super().__init__({"autocomplete": "off", **(attrs or {})})

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        context["widget"]["attrs"]["list"] = f"{name}-suggestions"
        context["widget"]["suggestions"] = list(self.suggestions)
        return context
