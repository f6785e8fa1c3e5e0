"""Forms of recovery machines, scales, gauges and leak detectors, and their calibrations."""

from typing import Any

from crispy_forms.layout import Fieldset
from django import forms

from jobs.forms.layout import DateField, RegisterForm, side_by_side
from jobs.models import Calibration, Instrument, InstrumentKind, RecoveryMachine


class RecoveryMachineForm(RegisterForm):
    """What stands on a recovery machine's plate and label."""

    made_on = DateField(
        label="Manufactured on",
        help_text="From its plate; the first of the month if it gives no day. It decides the evacuation level "
        "(40 CFR 82.156(a), table 1).",
    )

    fieldsets = (
        Fieldset("Machine", side_by_side("make", "model"), side_by_side("serial_number", "made_on")),
        Fieldset("Certification", side_by_side("certified_by", "certified_for")),
        Fieldset("How it works", "kind", "is_pump_out_unit"),
        Fieldset("Use", "is_in_use"),
    )

    class Meta:
        model = RecoveryMachine
        fields = (
            *("make", "model", "serial_number", "made_on", "certified_by", "certified_for"),
            *("kind", "is_pump_out_unit", "is_in_use"),
        )
        widgets = {"kind": forms.RadioSelect}
        help_texts = {
            "kind": "System-dependent equipment is for small full charges alone (40 CFR 82.156(e)).",
            "is_in_use": "Turned off, it is no longer offered; records that name it stay.",
        }


class InstrumentForm(RegisterForm):
    """A scale, a gauge or a leak detector, with its division and accuracy."""

    fieldsets = (
        Fieldset("Instrument", "kind", side_by_side("make", "model"), "serial_number"),
        Fieldset(
            "Division and accuracy",
            side_by_side("division_entered", "division_unit"),
            side_by_side("accuracy_entered", "accuracy_pct"),
        ),
        Fieldset("Calibration and use", "calibration_interval_months", "is_in_use"),
    )

    class Meta:
        model = Instrument
        fields = (
            *("kind", "make", "model", "serial_number", "division_entered", "division_unit"),
            *("accuracy_entered", "accuracy_pct", "calibration_interval_months", "is_in_use"),
        )
        widgets = {
            "kind": forms.RadioSelect,
            "division_entered": forms.TextInput({"inputmode": "decimal", "autocomplete": "off"}),
            "accuracy_entered": forms.TextInput({"inputmode": "decimal", "autocomplete": "off"}),
            "accuracy_pct": forms.TextInput({"inputmode": "decimal", "autocomplete": "off"}),
        }
        help_texts = {
            "division_entered": "The smallest step, or a detector’s smallest leak, that it shows, such as 2 for 2 g.",
            "division_unit": "A scale: g, kg, oz, lb. A gauge: micron, in Hg, psi, kPa. A detector: g/yr, oz/yr, ppm.",
            "accuracy_entered": "As the maker states it, in the unit of the division; may be left out.",
            "accuracy_pct": "Where the maker states a share of the reading, such as 0.5.",
            "is_in_use": "Turned off, it is no longer offered; records that name it stay.",
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        # A radio button needs none for nothing chosen.
        self.fields["kind"].choices = InstrumentKind.choices


class CalibrationForm(RegisterForm):
    """A calibration as its certificate says."""

    calibrated_on = DateField(label="Calibrated on")
    due_on = DateField(
        label="Counts until", required=False, help_text="Left empty: the instrument's interval later."
    )

    fieldsets = (
        Fieldset(
            "Certificate",
            side_by_side("calibrated_on", "due_on"),
            side_by_side("certificate_number", "calibrated_by"),
        ),
    )

    class Meta:
        model = Calibration
        fields = ("calibrated_on", "due_on", "certificate_number", "calibrated_by")
        help_texts = {"calibrated_by": "The laboratory, or who did it with which reference."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["certificate_number"].widget.attrs["autocomplete"] = "off"


class CorrectionForm(CalibrationForm):
    """What a calibration should have said; the former record stays readable."""

    correction_reason = forms.CharField(label="Why it is corrected", max_length=240)
    is_void = forms.BooleanField(
        label="It never took place, or not of this instrument",
        required=False,
        help_text="The record stays readable and counts for nothing.",
    )

    fieldsets = (*CalibrationForm.fieldsets, Fieldset("Correction", "correction_reason", "is_void"))
