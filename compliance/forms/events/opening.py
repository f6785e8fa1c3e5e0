"""The boxes of the event form that tell how the circuit was opened, and with which recovery machine and gauge."""

from collections.abc import Iterable
from typing import Any

from django import forms

from compliance.forms.events.choices import EventChoices, machine_label
from compliance.forms.events.styled import StyledForm
from compliance.selectors.opening import Opening
from jobs.models import OpeningKind, RecoveryMachine, VacuumUnit

YES_NO = (("", "Not stated"), ("yes", "Yes"), ("no", "No"))


class OpeningForm(StyledForm):
    """What 40 CFR 82.156 turns on; the visit's form takes these boxes over."""

    recovery_machine = forms.TypedChoiceField(
        label="Recovery machine",
        required=False,
        empty_value=None,
        help_text="The day it was made decides the level. It is recorded if refrigerant was taken out or "
        "the circuit was opened.",
    )
    is_circuit_opened = forms.BooleanField(label="The circuit was opened", required=False)
    opening_kind = forms.ChoiceField(
        label="Why it was opened",
        required=False,
        choices=[("", "Choose why"), *OpeningKind.choices],
    )
    opening_note = forms.CharField(
        label="Which leaks, and what they kept from being reached",
        max_length=240,
        required=False,
        widget=forms.Textarea({"rows": 2}),
    )
    is_compressor_running = forms.TypedChoiceField(
        label="The compressor ran during the recovery",
        required=False,
        choices=YES_NO,
        coerce=lambda value: value == "yes",
        empty_value=None,
    )
    final_vacuum = forms.DecimalField(
        label="Read before opening",
        required=False,
        max_digits=12,
        decimal_places=3,
        min_value=0,
        widget=forms.TextInput({"inputmode": "decimal", "autocomplete": "off"}),
        help_text="The gauge's reading, verified before the circuit was opened.",
    )
    final_vacuum_unit = forms.ChoiceField(label="Unit", required=False, choices=VacuumUnit.choices)
    gauge = forms.TypedChoiceField(label="Gauge", required=False, empty_value=None)

    def offer_machines(self, machines: Iterable[RecoveryMachine]) -> None:
        """Fill the select of the recovery machine."""
        offered = {str(machine.pk): machine for machine in machines}
        field = self.fields["recovery_machine"]
        field.coerce = offered.__getitem__
        field.choices = [("", "None named"), *((key, machine_label(row)) for key, row in offered.items())]

    def offer_gauges(self, choices: EventChoices) -> None:
        """Fill the select of the gauge."""
        self.fields["gauge"].coerce = choices.gauge
        self.fields["gauge"].choices = [("", "None named"), *choices.gauges]


def opening_of(form: OpeningForm) -> Opening:
    """What a form's boxes say of the opening, as far as they can be read: it may still be wrong, or only begun."""

    def read(name: str) -> Any:
        value = form[name].value()
        try:
            return form.fields[name].clean(value)
        except forms.ValidationError:
            return None

    return Opening(
        kind=read("opening_kind") or "",
        machine=read("recovery_machine"),
        is_compressor_running=read("is_compressor_running"),
        reading=read("final_vacuum"),
        reading_unit=read("final_vacuum_unit") or "",
    )
