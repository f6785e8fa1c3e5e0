"""The form of an appliance, with its full charge and the facility's leak rate method."""

from typing import Any

from crispy_forms.layout import HTML, Div, Fieldset
from django import forms
from django.urls import reverse_lazy

from jobs.forms.charge_estimate import ChargeInputsField
from jobs.forms.layout import DateField, RegisterForm, side_by_side
from jobs.forms.masses import MassField
from jobs.forms.refrigerants import RefrigerantField
from jobs.models import Appliance, FullChargeMethod, LeakRateMethod, Site, Technician
from jobs.services.appliances import registered_full_charge
from jobs.services.entries import ApplianceEntry, EnteredMass

# Fetches the cautions of the refrigerant as soon as it is named.
ASKS_FOR_CAUTIONS = {
    "hx-get": reverse_lazy("refrigerant-cautions"),
    "hx-trigger": "change",
    "hx-target": "#refrigerant-cautions",
}
CAUTIONS = HTML(
    '<div id="refrigerant-cautions">{% include "jobs/partials/refrigerant_cautions.html" %}</div>'
)
ESTIMATE = HTML(
    '<p class="fine-print"><a href="{% url "charge-estimate" %}?'
    "{% if form.instance.pk %}appliance={{ form.instance.pk }}{% else %}site={{ form.site.pk }}{% endif %}"
    '">Estimate it from component sizes</a></p>'
)
RANGE = Div(side_by_side("full_charge_lowest", "full_charge_highest"), css_class="only-established-range")


class ApplianceForm(RegisterForm):
    """One refrigerant circuit. The site's leak rate method may be chosen here while the site has no appliances."""

    refrigerant = RefrigerantField(help_text="ASHRAE 34 designation, such as R-410A; type to search.")
    full_charge = MassField(
        help_text="Of this circuit alone: each independent circuit is an appliance of its own."
    )
    full_charge_lowest = MassField(label="Range from", required=False)
    full_charge_highest = MassField(
        label="Range to", required=False, help_text="The full charge is the midpoint of the range."
    )
    charge_inputs = ChargeInputsField()
    installed_on = DateField(label="Installed on")
    leak_rate_method = forms.ChoiceField(
        label="Leak rate method of the facility", choices=LeakRateMethod.choices, widget=forms.RadioSelect
    )

    fieldsets = (
        Fieldset(
            "Appliance",
            "name",
            "category",
            side_by_side("serial_number", "location"),
            "installed_on",
            "is_enclosed",
        ),
        Fieldset(
            "Refrigerant and full charge",
            *("refrigerant", CAUTIONS, "full_charge", ESTIMATE, "full_charge_method", RANGE),
            *("full_charge_note", "charge_inputs"),
            "is_hermetically_sealed",
            "is_mvac_like",
        ),
        Fieldset(
            "What the law turns on",
            "is_residential_or_light_commercial",
            "subsector_reason",
            "leak_rate_method",
        ),
        Fieldset("Care", "technician"),
    )

    class Meta:
        model = Appliance
        fields = (
            *("name", "category", "serial_number", "location", "installed_on", "is_enclosed", "refrigerant"),
            *("full_charge_method", "full_charge_note", "is_hermetically_sealed", "is_mvac_like"),
            *("is_residential_or_light_commercial", "subsector_reason", "technician"),
        )
        widgets = {"full_charge_note": forms.Textarea({"rows": 3})}

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        self.site = site
        super().__init__(*args, **kwargs)
        self.fields["refrigerant"].widget.attrs.update(ASKS_FOR_CAUTIONS)
        self.fields["technician"].queryset = Technician.objects.filter(
            is_active=True
        ) | Technician.objects.filter(pk=self.instance.technician_id)
        self.fields["technician"].empty_label = "Nobody in particular"
        if self.instance.pk:
            self.initial.setdefault("full_charge", registered_full_charge(self.instance))
            self._set_up_range()
        self._set_up_method()

    def _set_up_range(self) -> None:
        newest = self.instance.full_charge_determinations.first()
        if newest and newest.method == FullChargeMethod.ESTABLISHED_RANGE:
            for name in ("full_charge_lowest", "full_charge_highest"):
                self.initial[name] = EnteredMass.parse(**newest.inputs[name])

    def _set_up_method(self) -> None:
        method = self.fields["leak_rate_method"]
        method.initial = self.site.leak_rate_method
        if self.site.appliances.exists():
            method.disabled = True
            method.help_text = "One method for all appliances at the facility (40 CFR 82.152, 84.106(b)). "
            method.help_text += "It is changed on the site's page."
        else:
            method.help_text = (
                "The site's first appliance decides it for all that follow (40 CFR 82.152, 84.106(b))."
            )

    def row_fields(self) -> dict[str, Any]:
        """Return what was typed of the appliance itself, as the services take it."""
        return {
            name: value
            for name, value in self.cleaned_data.items()
            if name not in ("leak_rate_method", "is_charged")
        }


class NewApplianceForm(ApplianceForm):
    """The form of an appliance that is not on record yet."""

    is_charged = forms.BooleanField(
        label="It holds its full charge now",
        required=False,
        initial=True,
        help_text="Leave this off for a new appliance that is charged later: file its charge as an installation.",
    )

    fieldsets = (
        ApplianceForm.fieldsets[0],
        Fieldset("Refrigerant and full charge", *ApplianceForm.fieldsets[1].fields, "is_charged"),
        *ApplianceForm.fieldsets[2:],
    )

    def entry(self) -> ApplianceEntry:
        """Return what was typed as the service takes it."""
        return ApplianceEntry(is_charged=self.cleaned_data["is_charged"], **self.row_fields())
