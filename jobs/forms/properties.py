"""What a person asks about a refrigerant: a temperature or a pressure, and where the gauge is read."""

import uuid
from typing import Any

from crispy_forms.layout import HTML, Div, Fieldset
from django import forms

from jobs.forms.layout import DateField, page_helper, side_by_side
from jobs.forms.masses import MassField
from jobs.forms.measures import MeasureField
from jobs.forms.messages import NamedValues, shown_value
from jobs.forms.refrigerants import RefrigerantField
from jobs.models import Site
from jobs.physics.errors import InvalidInput
from jobs.physics.pressures import STANDARD_ATMOSPHERE_PA, standard_atmosphere_pa
from jobs.physics.quantities import parse_altitude_m

TEMPERATURE_UNITS = (("F", "°F"), ("C", "°C"))
PRESSURE_UNITS = (
    ("psig", "psig"),
    ("inHg_vac", "inHg vacuum"),
    ("psia", "psia"),
    ("kPa", "kPa absolute"),
    ("barg", "bar gauge"),
    ("bar", "bar absolute"),
)
EVACUATION_UNITS = (
    ("inHg_vac", "inHg vacuum"),
    ("psig", "psig"),
    ("mmHg", "mmHg absolute"),
    ("micron", "micron"),
    ("psia", "psia"),
    ("kPa", "kPa absolute"),
)
VOLUME_UNITS = (("L", "L"), ("ft3", "ft³"), ("gal", "gal"))
ALTITUDE_UNITS = (("ft", "ft"), ("m", "m"))
WHERE = Div(
    HTML('<details class="fold"{% if form.is_placed %} open{% endif %}><summary>Gauge at altitude</summary>'),
    side_by_side("site", "altitude"),
    HTML("</details>"),
)


class SiteWithAltitude(forms.ModelChoiceField):
    """A site whose altitude is on record."""

    def __init__(self, **kwargs: Any) -> None:
        sites = Site.objects.filter(altitude_m__isnull=False).select_related("customer")
        super().__init__(sites, required=False, empty_label="No site", **kwargs)

    def label_from_instance(self, site: Site) -> str:
        return f"{site}: {site.altitude_m / 0.3048:.0f} ft"


class QuestionForm(NamedValues, forms.Form):
    """A question that is asked by its address, so that it can be kept and sent; altitude is sea level if left."""

    refrigerant = RefrigerantField()
    site = SiteWithAltitude(label="Site", help_text="Its altitude counts.")
    altitude = MeasureField(
        ALTITUDE_UNITS, label="Or altitude", required=False, help_text="Sea level if left empty."
    )

    use_required_attribute = False
    fieldsets: tuple[Any, ...] = ()
    # The names that physics gives to fields of this form.
    names: dict[str, str] = {}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = page_helper(*self.fieldsets)
        self.atmosphere_pa = STANDARD_ATMOSPHERE_PA
        self.altitude_words = ""

    @property
    def is_placed(self) -> bool:
        """Whether a place was named, so that its fields are worth showing."""
        return bool(self["site"].value() or self["altitude"].errors or (self["altitude"].value() or [""])[0])

    def clean(self) -> dict[str, Any]:
        """Find the atmosphere around the gauge."""
        cleaned = super().clean() or self.cleaned_data
        site, altitude = cleaned.get("site"), cleaned.get("altitude")
        try:
            if altitude:
                self.atmosphere_pa = standard_atmosphere_pa(parse_altitude_m(altitude))
                self.altitude_words = altitude
            elif site:
                self.atmosphere_pa = standard_atmosphere_pa(float(site.altitude_m))
                self.altitude_words = f"{site.altitude_m / 0.3048:.0f} ft, {site}"
        except InvalidInput as problem:
            self.add_invalid(problem)
        return cleaned

    def add_invalid(self, problem: InvalidInput) -> None:
        """Show what physics refused at its field, with the value as it was typed."""
        name = self.names.get(problem.field, problem.field)
        given = self.cleaned_data.get(name, problem.value) if name in self.fields else problem.value
        message = f"Expected {problem.expected}. You gave {shown_value(given)}."
        self.add_error(name if name in self.fields else None, message)


class SaturationForm(QuestionForm):
    """A temperature or a pressure; the unit tells which."""

    at = MeasureField((*TEMPERATURE_UNITS, *PRESSURE_UNITS), label="Temperature or pressure")

    field_order = ("refrigerant", "at", "site", "altitude")
    fieldsets = (Fieldset("", side_by_side("refrigerant", "at"), WHERE),)
    names = {"temperature": "at", "pressure": "at"}


class ChartForm(QuestionForm):
    """The refrigerant of a chart, and where its gauge is read."""

    fieldsets = (Fieldset("", "refrigerant", WHERE),)


class ResidualForm(QuestionForm):
    """What was evacuated, to which pressure, and how warm it is."""

    pressure = MeasureField(EVACUATION_UNITS, label="Pressure reached")
    temperature = MeasureField(TEMPERATURE_UNITS, label="Temperature of the appliance")
    volume = MeasureField(VOLUME_UNITS, label="Inside volume", required=False)
    full_charge = MassField(
        label="Or its full charge", required=False, help_text="The volume is then reckoned from it."
    )
    liquid_share = forms.DecimalField(
        label="Share of the inside that is liquid at rest (%)",
        required=False,
        min_value=1,
        max_value=100,
        initial=30,
        help_text="With the full charge alone. Your estimate; it decides the volume.",
    )

    field_order = ("refrigerant", "pressure", "temperature", "volume", "full_charge", "liquid_share")
    fieldsets = (
        Fieldset(
            "",
            side_by_side("refrigerant", "temperature"),
            side_by_side("pressure", "volume"),
            side_by_side("full_charge", "liquid_share"),
            WHERE,
        ),
    )

    def clean(self) -> dict[str, Any]:
        """Ask for one of the two ways to the volume."""
        cleaned = super().clean()
        if not self.errors.get("volume") and not self.errors.get("full_charge"):
            if not cleaned.get("volume") and not cleaned.get("full_charge"):
                self.add_error("volume", "Expected the inside volume or the full charge. You gave neither.")
            elif cleaned.get("full_charge") and not cleaned.get("volume") and not cleaned.get("liquid_share"):
                self.add_error("liquid_share", "Expected a percentage above 0, up to 100. You gave nothing.")
        return cleaned


class CylinderPressureForm(QuestionForm):
    """What a resting cylinder shows, and how far the instruments may be off."""

    temperature = MeasureField(TEMPERATURE_UNITS, label="Temperature of the cylinder")
    pressure = MeasureField(PRESSURE_UNITS, label="Pressure it shows")
    gauge_doubt = forms.DecimalField(
        label="Gauge off by (psi)", min_value=0, max_value=100, decimal_places=2, initial=1
    )
    temperature_doubt = forms.DecimalField(
        label="Thermometer off by (°F)", min_value=0, max_value=20, decimal_places=2, initial=2
    )
    vapour_drawn = forms.DecimalField(label="Drawn as vapour (%)", min_value=0, max_value=100, initial=0)

    field_order = ("refrigerant", "temperature", "pressure")
    fieldsets = (
        Fieldset(
            "",
            "refrigerant",
            side_by_side("temperature", "pressure"),
            side_by_side("gauge_doubt", "temperature_doubt", "vapour_drawn"),
            WHERE,
        ),
    )


class CylinderCheckForm(CylinderPressureForm):
    """The same for a cylinder on record, to be filed in its history."""

    checked_on = DateField(label="Checked on")
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea({"rows": 2}))
    submission_id = forms.UUIDField(widget=forms.HiddenInput)

    fieldsets = (
        Fieldset("Cylinder", side_by_side("refrigerant", "checked_on"), "submission_id"),
        Fieldset("Readings", *CylinderPressureForm.fieldsets[0].fields[1:], "note"),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["submission_id"].initial = uuid.uuid4
