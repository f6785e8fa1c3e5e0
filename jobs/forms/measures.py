"""A figure with its unit in one field: a temperature, a pressure, an altitude, a volume, a length."""

import re
from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from jobs.forms.messages import shown_value

FIGURE = re.compile(r"[-+]?(\d+(\.\d*)?|\.\d+)")


class MeasureWidget(forms.MultiWidget):
    """A figure and its unit side by side."""

    template_name = "jobs/widgets/mass.html"
    use_fieldset = False

    def __init__(self, units: Sequence[tuple[str, str]], attrs: dict[str, Any] | None = None) -> None:
        self.first_unit = units[0][0]
        # No inputmode: the decimal keypad of some phones has no minus sign.
        boxes = {
            "value": forms.TextInput({"autocomplete": "off", "inputmode": "text"}),
            "unit": forms.Select({"class": "form-select", "aria-label": "Unit"}, units),
        }
        super().__init__(boxes, attrs)

    def id_for_label(self, id_: str) -> str:
        """The label names the figure's box."""
        return f"{id_}_value" if id_ else id_

    def decompress(self, value: str | None) -> list[str]:
        figure, _, unit = (value or "").partition(" ")
        return [figure, unit or self.first_unit]

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        for box, suffix in zip(context["widget"]["subwidgets"], self.widgets_names, strict=True):
            if attrs and attrs.get("id"):
                box["attrs"]["id"] = f"{attrs['id']}{suffix}"
        return context


class MeasureField(forms.MultiValueField):
    """A figure and its unit as one text, such as ``70 F``; what it means is for the one who reads it."""

    def __init__(self, units: Sequence[tuple[str, str]], **kwargs: Any) -> None:
        boxes = (forms.CharField(), forms.ChoiceField(choices=units))
        super().__init__(boxes, require_all_fields=False, widget=MeasureWidget(units), **kwargs)

    def clean(self, value: list[str] | None) -> str:
        """Read the boxes.

        Raises:
            ValidationError: naming the value given and what is expected.
        """
        figure, unit = [(part or "").strip() for part in value or ("", "")]
        figure = figure.replace("\N{MINUS SIGN}", "-")
        if not figure:
            if self.required:
                message = f"Expected a figure with its unit, such as {self._example()}. You gave nothing."
                raise ValidationError(message, code="required")
            return ""
        if not FIGURE.fullmatch(figure):
            message = f"Expected a number, such as {self._example()}. You gave {shown_value(figure)}."
            raise ValidationError(message, code="invalid")
        if unit not in dict(self.fields[1].choices):
            message = f"Expected one of the units offered. You gave {shown_value(unit)}."
            raise ValidationError(message, code="unit")
        return f"{figure} {unit}"

    def has_changed(self, initial: Any, data: Any) -> bool:
        """The unit alone, which always stands there, is no entry."""
        before = self.widget.decompress(initial) if not isinstance(initial, list) else initial
        figure, unit = [(part or "").strip() for part in data or ("", "")]
        return figure != before[0] or (bool(figure) and unit != before[1])

    def _example(self) -> str:
        return f"70 with the unit {self.fields[1].choices[0][1]}"
