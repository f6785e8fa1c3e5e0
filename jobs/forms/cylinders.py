"""Forms of cylinders."""

from typing import Any

from crispy_forms.layout import Fieldset

from jobs.forms.layout import DateField, RegisterForm, side_by_side
from jobs.forms.masses import MassField
from jobs.forms.refrigerants import RefrigerantField
from jobs.models import Cylinder
from jobs.selectors.requalification import tests_of
from jobs.services.cylinders import MASS_FIELDS
from jobs.services.entries import CylinderEntry, EnteredMass


class CylinderForm(RegisterForm):
    """What is stamped on a cylinder."""

    water_capacity = MassField(help_text="Stamped WC on the collar: the mass of water that fills it.")
    tare = MassField(help_text="Stamped TW: the empty cylinder with its valve.")
    requalified_on = DateField(
        label="Last requalified (or made) on",
        required=False,
        help_text="The test date stamped on it. It may not be filled once the period has run out (49 CFR 180.205(c)).",
    )
    refrigerant = RefrigerantField(
        label="Dedicated to", required=False, help_text="ASHRAE 34 designation; leave empty while undecided."
    )

    fieldsets = (
        Fieldset("Cylinder", "serial_number", side_by_side("kind", "specification"), "refrigerant"),
        Fieldset(
            "As stamped",
            side_by_side("water_capacity", "tare"),
            side_by_side("requalified_on", "requalification_period_years"),
        ),
    )

    class Meta:
        model = Cylinder
        fields = (
            *("serial_number", "kind", "specification", "refrigerant", "requalified_on"),
            "requalification_period_years",
        )
        labels = {"requalification_period_years": "Requalification period (years)"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            self._follow_tests()
            self.initial |= {name: _as_typed(self.instance, name) for name in MASS_FIELDS}

    def _follow_tests(self) -> None:
        """Close the test date where a test on record tells it."""
        field = self.fields["requalified_on"]
        if passed_on := tests_of(self.instance).passed_on:
            field.disabled = True
            field.help_text = f"Follows the test of {passed_on[-1]}, which is on record."
        else:
            field.help_text += (
                " A mistyped date is put right here; a new test is filed on the cylinder’s page."
            )


class NewCylinderForm(CylinderForm):
    """The form of a cylinder that is not on record yet, with what it holds."""

    contents = MassField(
        required=False,
        label="What it holds",
        help_text="Net: the scale's reading less the tare. Leave empty if the cylinder is empty.",
    )
    contents_on = DateField(label="Weighed on", required=False)

    fieldsets = (
        *CylinderForm.fieldsets,
        Fieldset("Where it is", side_by_side("place", "place_note")),
        Fieldset("Contents as the books begin", "contents", "contents_on"),
    )

    class Meta(CylinderForm.Meta):
        fields = (*CylinderForm.Meta.fields, "place", "place_note")

    def entry(self) -> CylinderEntry:
        """Return what was typed as the service takes it."""
        return CylinderEntry(**self.cleaned_data)


def _as_typed(cylinder: Cylinder, name: str) -> EnteredMass:
    value, unit, mass_mg = (getattr(cylinder, f"{name}_{part}") for part in ("entered", "unit", "mg"))
    return EnteredMass(value, unit, mass_mg)
