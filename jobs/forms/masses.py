"""The one field in which a person types a mass: a figure, its unit, and an ounces box for pounds and ounces."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from jobs.errors import SubmissionRefused
from jobs.models import MassUnit
from jobs.services.entries import EnteredMass

OUNCES_IN_A_POUND = 16


class MassWidget(forms.MultiWidget):
    """A figure, ounces (shown with the unit lb + oz alone), and the unit."""

    template_name = "jobs/widgets/mass.html"
    use_fieldset = False

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        number = {"inputmode": "decimal", "autocomplete": "off"}
        boxes = {
            "value": forms.TextInput({**number}),
            "ounces": forms.TextInput({**number, "placeholder": "oz", "aria-label": "Ounces"}),
            "unit": forms.Select({"class": "form-select", "aria-label": "Unit"}, MassUnit.choices),
        }
        super().__init__(boxes, attrs)

    def id_for_label(self, id_: str) -> str:
        """The label names the figure's box."""
        return f"{id_}_value" if id_ else id_

    def decompress(self, value: EnteredMass | None) -> list[str]:
        if value is None:
            return ["", "", MassUnit.LB]
        if value.unit == MassUnit.LB_OZ:
            pounds, _, ounces = value.value.partition("+")
            return [pounds.strip(), ounces.strip(), value.unit]
        return [value.value, "", value.unit]

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        for box, suffix in zip(context["widget"]["subwidgets"], self.widgets_names, strict=True):
            if attrs and attrs.get("id"):
                box["attrs"]["id"] = f"{attrs['id']}{suffix}"
            # Pounds may be empty beside ounces and the other way round; the field says what is missing.
            box["attrs"].pop("required", None)
        return context


class MassField(forms.MultiValueField):
    """A mass above zero as an ``EnteredMass``: what was typed, its unit and the whole milligrams."""

    widget = MassWidget

    def __init__(self, **kwargs: Any) -> None:
        boxes = (forms.CharField(), forms.CharField(), forms.ChoiceField(choices=MassUnit.choices))
        super().__init__(boxes, require_all_fields=False, **kwargs)

    def clean(self, value: list[str] | None) -> EnteredMass | None:
        """Read the boxes.

        Raises:
            ValidationError: naming the value given and what is expected.
        """
        figure, ounces, unit = [(part or "").strip() for part in value or ("", "", "")]
        if not figure and not ounces:
            if self.required:
                raise ValidationError(self.error_messages["required"], code="required")
            return None
        if ounces and unit != MassUnit.LB_OZ:
            message = (
                f"Expected no ounces beside {unit}: choose lb + oz, or empty the ounces. You gave “{ounces}”."
            )
            raise ValidationError(message, code="ounces")
        try:
            mass = EnteredMass.parse(_typed(figure, ounces, unit), unit)
            if unit == MassUnit.LB_OZ:
                _check_ounces(ounces)
        except SubmissionRefused as error:
            raise ValidationError([str(refusal) for refusal in error.refusals], code="invalid") from error
        if mass.mass_mg <= 0:
            message = f"Expected a mass above zero. You gave “{mass}”."
            raise ValidationError(message, code="zero")
        return mass

    def has_changed(self, initial: Any, data: Any) -> bool:
        """The unit alone, which always stands there, is no entry."""
        if self.disabled:
            return False
        before = self.widget.decompress(initial) if not isinstance(initial, list) else initial
        figure, ounces, unit = [(part or "").strip() for part in data or ("", "", "")]
        is_same_entry = [figure, ounces] == before[:2]
        return not is_same_entry or (bool(figure or ounces) and unit != before[2])


def _typed(figure: str, ounces: str, unit: str) -> str:
    return f"{figure or '0'}+{ounces or '0'}" if unit == MassUnit.LB_OZ else figure


def _check_ounces(ounces: str) -> None:
    """Refuse sixteen ounces and more beside pounds: one of the two boxes was mistyped."""
    if ounces and Decimal(ounces) >= OUNCES_IN_A_POUND:
        message = f"Expected less than {OUNCES_IN_A_POUND} ounces beside the pounds. You gave “{ounces}” oz."
        raise ValidationError(message, code="ounces")
