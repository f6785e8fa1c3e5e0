"""What a full charge is estimated from: conditions, vessels and lines."""

import json
from collections.abc import Mapping
from typing import Any

from crispy_forms.layout import Fieldset
from django import forms

from jobs.forms.layout import page_helper, side_by_side
from jobs.forms.measures import MeasureField
from jobs.forms.messages import NamedValues, shown_value
from jobs.forms.properties import TEMPERATURE_UNITS, VOLUME_UNITS
from jobs.forms.refrigerants import RefrigerantField
from jobs.physics.charge_estimate import ChargeInputs, Line, Vessel
from jobs.physics.errors import InvalidInput
from jobs.physics.quantities import parse_length_mm, parse_temperature_c, parse_volume_l

HIGH, LOW = "high", "low"
VESSELS = {
    "condenser": ("Condenser", HIGH),
    "receiver": ("Receiver", HIGH),
    "evaporator": ("Evaporator", LOW),
    "accumulator": ("Suction accumulator", LOW),
    "other_high": ("Other part at condensing temperature", HIGH),
    "other_low": ("Other part at evaporating temperature", LOW),
}
LINES = {
    "liquid": ("Liquid line", HIGH),
    "suction": ("Suction line", LOW),
    "discharge": ("Discharge line", HIGH),
}
ROWS = 4
ROWS_MOST = 20
LENGTH_UNITS = (("ft", "ft"), ("m", "m"))
BORE_UNITS = (("in", "in"), ("mm", "mm"))


class RowForm(NamedValues, forms.Form):
    """One part; an empty row is left out."""

    use_required_attribute = False
    # What counts as typed: the kind, which always stands there, is no entry.
    entries: frozenset[str]

    def __init__(self, data: Mapping[str, Any] | None, *, prefix: str) -> None:
        super().__init__(data, prefix=prefix, empty_permitted=True)

    def has_changed(self) -> bool:
        """Whether anything was typed here."""
        return bool(self.entries & set(self.changed_data))


class VesselForm(RowForm):
    """A part that holds liquid and vapour side by side."""

    kind = forms.ChoiceField(
        label="Part", choices=[(kind, label) for kind, (label, _) in VESSELS.items()], required=False
    )
    volume = MeasureField((*VOLUME_UNITS, ("in3", "in³")), label="Inside volume")
    liquid = forms.DecimalField(label="Liquid (%)", min_value=0, max_value=100, help_text="Of its volume.")
    liquid_doubt = forms.DecimalField(
        label="± points", min_value=0, max_value=100, required=False, help_text="10 if left empty."
    )

    entries = frozenset({"volume", "liquid", "liquid_doubt"})


class LineForm(RowForm):
    """A pipe that holds liquid or vapour."""

    kind = forms.ChoiceField(
        label="Line", choices=[(kind, label) for kind, (label, _) in LINES.items()], required=False
    )
    bore = MeasureField(BORE_UNITS, label="Inside diameter")
    length = MeasureField(LENGTH_UNITS, label="Length")

    entries = frozenset({"bore", "length"})


class ChargeEstimateForm(NamedValues, forms.Form):
    """The refrigerant and the conditions, with rows of vessels and lines."""

    refrigerant = RefrigerantField()
    condensing = MeasureField(TEMPERATURE_UNITS, label="Condensing temperature")
    evaporating = MeasureField(TEMPERATURE_UNITS, label="Evaporating temperature")
    subcooling = forms.DecimalField(
        label="Subcooling in the liquid line (°F)", min_value=0, max_value=50, initial=10
    )

    use_required_attribute = False
    fieldsets = (
        Fieldset(
            "Refrigerant and conditions",
            "refrigerant",
            side_by_side("condensing", "evaporating", "subcooling"),
        ),
    )

    def __init__(self, data: Mapping[str, Any] | None = None, *, rows: int = ROWS, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.helper = page_helper(*self.fieldsets)
        self.vessels = [VesselForm(data, prefix=f"vessels-{index}") for index in range(rows)]
        self.lines = [LineForm(data, prefix=f"lines-{index}") for index in range(rows)]
        kinds = list(VESSELS)
        for index, row in enumerate(self.vessels):
            row.fields["kind"].initial = kinds[index % ROWS]
        kinds = list(LINES)
        for index, row in enumerate(self.lines):
            row.fields["kind"].initial = kinds[min(index, len(kinds) - 1)]

    @property
    def filled_vessels(self) -> list[VesselForm]:
        """The rows of vessels in which something was typed."""
        return [row for row in self.vessels if row.has_changed()]

    @property
    def filled_lines(self) -> list[LineForm]:
        """The rows of lines in which something was typed."""
        return [row for row in self.lines if row.has_changed()]

    def is_valid(self) -> bool:
        """Check every row too, so that all that is wrong shows at once."""
        rows = [*self.filled_vessels, *self.filled_lines]
        refused = [row for row in rows if not row.is_valid()]
        if super().is_valid() and not rows:
            self.add_error(None, "Expected at least one part or line. You gave none.")
        return super().is_valid() and not refused

    def inputs(self) -> ChargeInputs:
        """What the estimate rests on, in the physics' units.

        Raises:
            InvalidInput: a size or temperature that can't be; its field is one of this form or of a row.
        """
        typed = self.cleaned_data
        saturation_c = {
            HIGH: parse_temperature_c(typed["condensing"], "condensing"),
            LOW: parse_temperature_c(typed["evaporating"], "evaporating"),
        }
        subcooling_k = float(typed["subcooling"]) / 1.8
        vessels = [
            self._vessel(index, row.cleaned_data, saturation_c)
            for index, row in enumerate(self.filled_vessels)
        ]
        lines = [
            self._line(index, row.cleaned_data, saturation_c, subcooling_k)
            for index, row in enumerate(self.filled_lines)
        ]
        return ChargeInputs(typed["refrigerant"], tuple(vessels), tuple(lines))

    @staticmethod
    def _vessel(index: int, typed: dict[str, Any], saturation_c: dict[str, float]) -> Vessel:
        name, side = VESSELS[typed["kind"] or "condenser"]
        doubt = typed["liquid_doubt"]
        return Vessel(
            name=name,
            volume_l=parse_volume_l(typed["volume"], f"vessels-{index}-volume"),
            saturation_c=saturation_c[side],
            liquid_pct=float(typed["liquid"]),
            liquid_doubt_pct=10.0 if doubt is None else float(doubt),
        )

    @staticmethod
    def _line(index: int, typed: dict[str, Any], saturation_c: dict[str, float], subcooling_k: float) -> Line:
        kind = typed["kind"] or "liquid"
        name, side = LINES[kind]
        is_liquid = kind == "liquid"
        return Line(
            name=name,
            bore_mm=parse_length_mm(typed["bore"], f"lines-{index}-bore"),
            length_m=parse_length_mm(typed["length"], f"lines-{index}-length") / 1000,
            saturation_c=saturation_c[side],
            is_liquid=is_liquid,
            subcooling_k=subcooling_k if is_liquid else 0.0,
        )

    def add_invalid(self, problem: InvalidInput) -> None:
        """Show what physics refused at the field that it came from."""
        group, _, rest = problem.field.partition("-")
        index, _, name = rest.partition("-")
        form: forms.Form = self
        if group in ("vessels", "lines") and index.isdigit():
            form = (self.filled_vessels if group == "vessels" else self.filled_lines)[int(index)]
        else:
            name = problem.field
        if name == "saturation" and form is not self:
            side = (VESSELS | LINES)[form.cleaned_data["kind"]][1]
            form, name = self, "condensing" if side == HIGH else "evaporating"
        elif name == "subcooling":
            form = self
        given = form.cleaned_data.get(name, problem.value)
        form.add_error(
            name if name in form.fields else None,
            f"Expected {problem.expected}. You gave {shown_value(given)}.",
        )


class ChargeInputsField(forms.CharField):
    """What an estimate rests on, carried through the form of the appliance as JSON."""

    widget = forms.HiddenInput

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(required=False, max_length=20_000, **kwargs)

    def prepare_value(self, value: Any) -> Any:
        return json.dumps(value) if isinstance(value, dict) else value

    def clean(self, value: Any) -> dict[str, Any] | None:
        """Read the JSON; what isn't an estimate's is refused by the service, and damaged text is none."""
        text = super().clean(value)
        try:
            return json.loads(text) if text else None
        except ValueError:
            return {}
