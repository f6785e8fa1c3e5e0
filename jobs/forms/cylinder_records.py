"""Forms of a cylinder's life: moved, weighed, received, mixed, its heel, its period; and of undoing a record."""

from decimal import Decimal
from typing import Any

from crispy_forms.layout import Fieldset
from django import forms

from compliance.rulebook.requalification import allowed_periods, least_test_pressure
from jobs.forms.layout import CHOOSE, SuggestInput, side_by_side
from jobs.forms.masses import MassField
from jobs.forms.stock import RecordForm, known_names
from jobs.models import (
    Cylinder,
    CylinderKind,
    CylinderPlace,
    HeelDestination,
    HolderKind,
    Instrument,
    InstrumentKind,
    MoveReason,
    RequalificationMethod,
    RequalificationResult,
    RequalificationTest,
    Site,
    Technician,
)
from jobs.selectors.requalification import last_test

FIRMS = (HolderKind.SUPPLIER, HolderKind.RECLAIMER, HolderKind.DESTRUCTION_FACILITY, HolderKind.BUYER)
HEEL_STATEMENT = "I removed the refrigerant from this disposable cylinder before its disposal."


class MoveForm(RecordForm):
    """Where a cylinder was taken, by whom and why."""

    place = forms.ChoiceField(label="Where to", choices=CylinderPlace.choices, widget=forms.RadioSelect)
    technician = forms.ModelChoiceField(
        Technician.objects.filter(is_active=True), label="Whose van", required=False, empty_label=CHOOSE
    )
    site = forms.ModelChoiceField(
        Site.objects.select_related("customer"), label="Which site", required=False, empty_label=CHOOSE
    )
    firm_name = forms.CharField(label="Which firm", max_length=160, required=False)
    reason = forms.ChoiceField(label="Why", choices=MoveReason.choices, initial=MoveReason.WORK)
    moved_by = forms.CharField(label="Moved by", max_length=120)

    fieldsets = (
        Fieldset("Where to", "place", *("technician", "site", "firm_name"), "submission_id"),
        Fieldset("By whom and when", "reason", side_by_side("moved_by", "happened_on"), "note"),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["site"].label_from_instance = lambda site: f"{site.customer}: {site}"
        self.fields["firm_name"].widget = SuggestInput(known_names(*FIRMS))
        for name, place in (
            ("technician", "a van"),
            ("site", "a customer’s site"),
            ("firm_name", "another firm"),
        ):
            self.fields[name].help_text = f"Only for {place}."


class WeighForm(RecordForm):
    """What the scale showed."""

    gross = MassField(
        label="Gross on the scale", help_text="The whole cylinder, with nothing connected to it."
    )
    scale = forms.ModelChoiceField(
        Instrument.objects.filter(kind=InstrumentKind.SCALE, is_in_use=True),
        label="Scale",
        required=False,
        empty_label="Not on record",
    )
    uncertainty = MassField(
        label="How far it may be off, plus or minus",
        required=False,
        help_text="Empty: what is on record of the scale.",
    )

    fieldsets = (
        Fieldset("Weighing", "gross", "scale", "uncertainty", "submission_id"),
        Fieldset("When", "happened_on", "note"),
    )


class ReceiptForm(RecordForm):
    """What a reclaimer or destruction facility says that it received."""

    mass = MassField(label="Mass received", help_text="Net, as on the receipt.")
    document_number = forms.CharField(label="Number of the receipt", max_length=80)

    fieldsets = (
        Fieldset("Receipt", "mass", side_by_side("document_number", "happened_on"), "note", "submission_id"),
    )


class ContaminationForm(RecordForm):
    """That a cylinder holds, or may hold, more than one refrigerant."""

    refrigerants = forms.CharField(
        label="Refrigerants that are or may be in it",
        max_length=200,
        required=False,
        help_text="Designations with commas between them, such as R-410A, R-22; empty if nobody knows.",
    )
    finding = forms.CharField(
        label="What was found, and how",
        widget=forms.Textarea({"rows": 3}),
        help_text="Such as: pressure above the table after a day in the shop.",
    )

    fieldsets = (
        Fieldset("What is in it", "refrigerants", "finding", "submission_id"),
        Fieldset("When", "happened_on", "note"),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["refrigerants"].initial = self.cylinder.refrigerant

    def clean_refrigerants(self) -> list[str]:
        """Return the designations one by one."""
        return [name.strip() for name in self.cleaned_data["refrigerants"].split(",") if name.strip()]


class HeelForm(RecordForm):
    """How a disposable cylinder's heel was removed."""

    removed_by = forms.ModelChoiceField(
        Technician.objects.filter(is_active=True), label="Removed by", empty_label=CHOOSE
    )
    level_in_hg_vacuum = forms.DecimalField(
        label="Vacuum reached (in Hg)",
        max_digits=5,
        decimal_places=2,
        initial=Decimal(15),
        help_text="About 15 in Hg is asked for (40 CFR 84.116, from memory).",
    )
    into = forms.ModelChoiceField(
        Cylinder.objects.exclude(kind=CylinderKind.DISPOSABLE),
        label="Into which cylinder",
        required=False,
        empty_label="Not weighed",
    )
    mass = MassField(label="Mass of the heel", required=False, help_text="Weighed into that cylinder.")
    destination_kind = forms.ChoiceField(
        label="The empty cylinder went to a", choices=HeelDestination.choices, widget=forms.RadioSelect
    )
    destination_name = forms.CharField(label="Name of the firm", max_length=160)
    statement = forms.CharField(label="Statement", widget=forms.Textarea({"rows": 3}), initial=HEEL_STATEMENT)

    fieldsets = (
        Fieldset(
            "The heel", side_by_side("removed_by", "level_in_hg_vacuum"), "into", "mass", "submission_id"
        ),
        Fieldset("The cylinder", "destination_kind", "destination_name", "statement"),
        Fieldset("When", "happened_on", "note"),
    )


class RequalificationTestForm(RecordForm):
    """How a cylinder was tested, by whom, and whether it passed."""

    result = forms.ChoiceField(
        label="Result",
        choices=RequalificationResult.choices,
        initial=RequalificationResult.PASSED,
        widget=forms.RadioSelect,
    )
    reason = forms.CharField(
        label="Why it was condemned",
        required=False,
        widget=forms.Textarea({"rows": 2}),
        help_text="Only of a condemned one. It may never be filled again (49 CFR 180.205(i), from memory).",
    )
    method = forms.ChoiceField(
        label="How it was tested", choices=[("", CHOOSE), *RequalificationMethod.choices]
    )
    test_pressure_psi = forms.IntegerField(
        label="Test pressure (psig)", required=False, min_value=1, help_text="If the report says."
    )
    requalifier = forms.CharField(
        label="Tested by", max_length=160, help_text="The firm that holds the RIN (49 CFR 180.205(b))."
    )
    identification_number = forms.CharField(
        label="Its RIN",
        max_length=20,
        help_text="Stamped between month and year (49 CFR 180.213, from memory).",
    )
    document_number = forms.CharField(label="Number of its report", max_length=80, required=False)

    fieldsets = (
        Fieldset("Result", "result", "reason", "submission_id"),
        Fieldset(
            "The test",
            side_by_side("happened_on", "method"),
            "requalifier",
            side_by_side("identification_number", "test_pressure_psi"),
            *("document_number", "note"),
        ),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["happened_on"].label = "Tested on"
        firms = RequalificationTest.objects.values_list("requalifier", "identification_number")
        self.fields["requalifier"].widget = SuggestInput(firms.order_by("requalifier").distinct())
        least = least_test_pressure(self.cylinder.specification, on=self.initial["happened_on"])
        if least:
            words = f"If the report says: {least[0]} or more for {self.cylinder.specification} ({least[1]})."
            self.fields["test_pressure_psi"].help_text = words


class PeriodForm(RecordForm):
    """The officer's decision on a cylinder's requalification period."""

    years = forms.TypedChoiceField(label="Period", coerce=int)
    reason = forms.CharField(
        label="Why it may be used",
        widget=forms.Textarea({"rows": 3}),
        help_text="More than five years ask for gas that is commercially free of corroding components, moisture too.",
    )

    fieldsets = (Fieldset("Decision", "years", "reason", "happened_on", "note", "submission_id"),)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        periods = allowed_periods(self.cylinder.specification, on=self.initial["happened_on"])
        self.fields["years"].choices = [(years, f"{years} years") for years in periods.years]
        self.fields[
            "years"
        ].help_text = (
            f"{self.cylinder.specification}: {periods.in_words} ({periods.citation}).{self._last_test()}"
        )

    def _last_test(self) -> str:
        """Which period a test allows depends on how it was done (49 CFR 180.209(e) and (g), from memory)."""
        test = last_test(self.cylinder)
        return f" Last test: {test.get_method_display().lower()} on {test.happened_on}." if test else ""


class ReasonForm(RecordForm):
    """Why a record is undone, or the books adjusted."""

    reason = forms.CharField(label="Why", widget=forms.Textarea({"rows": 3}))

    fieldsets = (Fieldset("", "reason", "submission_id"),)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("happened_on", "note"):
            del self.fields[name]
