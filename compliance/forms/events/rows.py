"""The rows of a service event: transfers, leaks found, repairs, verification tests, statements."""

from functools import cached_property
from typing import Any

from django import forms
from django.forms import BaseFormSet, formset_factory

from compliance.forms.events.choices import EventChoices
from compliance.forms.events.log_slots import LogSlot, fill_slot
from compliance.forms.events.logs import WeighLogFields
from compliance.forms.events.styled import RowForm
from compliance.forms.events.widgets import SuggestingInput, TellingSelect, Tiles
from compliance.rulebook.refrigerants import all_refrigerants
from compliance.selectors.log_days import LoggedVisit
from jobs.forms.masses import MassField
from jobs.models import FILED_APART, FullChargeMethod, StatementKind, TransferReason, VerificationKind
from jobs.services.entries import EnteredMass
from jobs.services.log_entries import LogAnswers
from jobs.services.submission import INTO_APPLIANCE, OUT_OF_APPLIANCE

ROWS_MAX = 40
SPARE_ROWS = 2

# Where appliances usually leak and how tests are usually done; common practice, no source.
LEAKING_PARTS = (
    "Access valve core",
    "Flare fitting",
    "Brazed joint",
    "Evaporator coil",
    "Condenser coil",
    "Liquid line filter drier",
    "Expansion valve",
    "Compressor shaft seal",
    "Relief valve",
    "Capped line",
)
TEST_METHODS = (
    "Nitrogen pressure and bubble solution",
    "Electronic detector",
    "Bubble solution",
    "Ultrasonic detector",
    "Vacuum decay",
)

# These say something by themselves: back to normal operation has its own box.
STATEMENT_KINDS = [kind for kind in StatementKind if kind != StatementKind.NORMAL_OPERATION]


class EventRowForm(RowForm):
    """A row that draws on the event's choices."""

    def __init__(self, *args: Any, choices: EventChoices, **kwargs: Any) -> None:
        self.choices = choices
        super().__init__(*args, **kwargs)
        self.offer(choices)
        self.dress()

    def offer(self, choices: EventChoices) -> None:
        """Fill the row's selects."""

    def leak_field(self, *, empty: str, choices: list[tuple[str, Any]]) -> None:
        """Make the row's leak a choice of ``choices``."""
        field = self.fields["leak"]
        field.coerce = self.choices.leak
        field.choices = [("", empty), *choices]


class TransferForm(WeighLogFields, EventRowForm):
    """One weighed transfer into or out of the appliance, with the log of its scale if there is one."""

    telling = ("cylinder", "mass", "leak", "refrigerant", "log")

    direction = forms.ChoiceField(
        choices=((INTO_APPLIANCE, "Into the appliance"), (OUT_OF_APPLIANCE, "Out of the appliance")),
        initial=INTO_APPLIANCE,
        widget=Tiles,
    )
    cylinder = forms.TypedChoiceField(required=False, empty_value=None)
    mass = MassField(
        label="Mass by the scale",
        error_messages={"required": "Enter the mass that was weighed, or remove the row."},
    )
    scale = forms.TypedChoiceField(required=False, empty_value=None)
    reason = forms.ChoiceField(choices=TransferReason.choices, initial=TransferReason.SERVICE)
    leak = forms.TypedChoiceField(
        label="For which leak",
        required=False,
        empty_value=None,
        help_text="What is added for the same leak counts together (40 CFR 82.152).",
    )
    is_recycled = forms.BooleanField(label="It was recycled after it was recovered", required=False)
    refrigerant = forms.ChoiceField(
        required=False,
        help_text="After a retrofit, state “Retrofitted” with the new charge under “More to state”.",
    )

    def offer(self, choices: EventChoices) -> None:
        self.fields["cylinder"].coerce = choices.cylinder
        self.fields["cylinder"].widget = TellingSelect(choices.cylinder_data)
        self.fields["cylinder"].choices = [("", "Choose the cylinder"), *choices.cylinders]
        self.fields["mass"].initial = ["", "", choices.mass_unit]
        self.fields["scale"].coerce = choices.scale
        self.fields["scale"].choices = [("", "None named"), *choices.scales]
        self.fields["scale"].initial = choices.background.usual.scale_id
        self.leak_field(empty="None named", choices=choices.leaks)
        if asked := choices.background.use_of_recovered:
            text = f"From a cylinder of recovered refrigerant: {asked.value} ({asked.citation})"
            self.fields["is_recycled"].help_text = text
        elif choices.background.appliance.is_mvac_like:
            text = "Recovered refrigerant goes into it only recycled or reclaimed (40 CFR 82.156(h))."
            self.fields["is_recycled"].help_text = text
        else:
            del self.fields["is_recycled"]
        own = choices.background.refrigerant.designation
        others = [(row.designation, row.designation) for row in all_refrigerants() if row.designation != own]
        self.fields["refrigerant"].choices = [("", own), *others]

    def clean(self) -> dict[str, Any]:
        """Read the log: what the row is filed with is the log itself, not the boxes that name it."""
        cleaned = super().clean() or self.cleaned_data
        self.slot = self._filled_slot(cleaned, cleaned.get("log") or "", self.log_answers)
        for name, message in self.slot.problems:
            self.add_error(name, message)
        if refused := self.choices.refused_files.get(self.add_prefix("log_file")):
            self.add_error("log_file", refused)
        kept = {name: value for name, value in cleaned.items() if not name.startswith("log")}
        return {**kept, "log": self.slot.entry}

    @cached_property
    def slot(self) -> LogSlot:
        """What the row shows of its log; of a row that was sent, what reading it has found."""
        given = self.get_initial_for_field
        row = {name: given(self.fields[name], name) for name in ("direction", "mass")}
        scale = given(self.fields["scale"], "scale")
        row["scale"] = self.choices.scale(str(scale)) if scale else None
        return self._filled_slot(row, self.initial.get("log", ""), LogAnswers())

    def _filled_slot(self, row: dict[str, Any], token: str, answers: LogAnswers) -> LogSlot:
        mass = row.get("mass")
        return fill_slot(
            self.choices.shelf,
            token,
            answers,
            direction=row.get("direction") or "",
            mass=mass if isinstance(mass, EnteredMass) else None,
            scale=row.get("scale") or None,
            unit=self.choices.mass_unit,
            visit=LoggedVisit(self.choices.background.appliance.site, self.choices.happened_on),
        )


class LeakForm(EventRowForm):
    """Where a leak was found."""

    telling = ("part", "location", "leak")

    part = forms.CharField(label="Leaking part", max_length=120, widget=SuggestingInput(LEAKING_PARTS))
    location = forms.CharField(label="Where it is", max_length=160)
    leak = forms.TypedChoiceField(label="Known already", required=False, empty_value=None)

    def offer(self, choices: EventChoices) -> None:
        self.fields["leak"].widget = TellingSelect(choices.leak_data)
        self.leak_field(empty="No, a new leak", choices=choices.recorded_leaks)


class RepairForm(EventRowForm):
    """What was done about one leak."""

    telling = ("leak", "work_done", "is_evacuated")

    leak = forms.TypedChoiceField(error_messages={"required": "Choose the leak that was repaired."})
    work_done = forms.CharField(label="What was done", max_length=240)
    is_evacuated = forms.BooleanField(
        label="The appliance or the isolated part was evacuated for it", required=False
    )

    def offer(self, choices: EventChoices) -> None:
        self.leak_field(empty="Choose the leak", choices=choices.leaks)


class VerificationForm(EventRowForm):
    """A verification test of one leak."""

    telling = ("leak", "kind", "method", "is_passed")

    leak = forms.TypedChoiceField(error_messages={"required": "Choose the leak that was tested."})
    kind = forms.ChoiceField(
        label="Which test",
        choices=VerificationKind.choices,
        widget=Tiles,
        error_messages={"required": "Choose initial or follow-up."},
    )
    method = forms.CharField(label="How it was tested", max_length=120, widget=SuggestingInput(TEST_METHODS))
    is_passed = forms.TypedChoiceField(
        label="Result",
        choices=(("yes", "Passed"), ("no", "Failed")),
        coerce=lambda value: value == "yes",
        widget=Tiles,
        error_messages={"required": "Choose passed or failed."},
    )

    def offer(self, choices: EventChoices) -> None:
        self.fields["kind"].choices = [
            ("initial_verification_test", "Initial"),
            ("follow_up_verification_test", "Follow-up"),
        ]
        self.leak_field(empty="Choose the leak", choices=choices.leaks)


class StatementForm(EventRowForm):
    """A further fact about the appliance, with the figures that its kind takes."""

    telling = ("kind",)

    kind = forms.ChoiceField(label="What is stated", choices=[("", "Choose")])
    full_charge = MassField(label="New full charge", required=False)
    method = forms.ChoiceField(
        label="How it was determined", required=False, choices=[("", "Choose"), *FullChargeMethod.choices]
    )
    refrigerant = forms.ChoiceField(label="New refrigerant", required=False)
    year = forms.IntegerField(
        label="Calendar year of the report", required=False, min_value=1990, max_value=2200
    )

    def offer(self, choices: EventChoices) -> None:
        kept = choices.background.kept_statements
        self.fields["kind"].choices = [
            ("", "Choose"),
            *((kind, kind.label) for kind in STATEMENT_KINDS if kind not in FILED_APART or kind in kept),
        ]
        self.fields["full_charge"].initial = ["", "", choices.mass_unit]
        self.fields["refrigerant"].choices = [
            ("", "Choose"),
            *((r.designation, r.designation) for r in all_refrigerants()),
        ]


class RowFormSet(BaseFormSet):
    """Rows of one kind; when they come back, none is told from the others by having been there before."""

    default_error_messages = {
        "missing_management_form": "The rows of this section didn't arrive whole. Enter them again.",
        "too_many_forms": "Expected at most %(num)d rows. File the others as a second visit of the same day.",
    }

    def initial_form_count(self) -> int:
        return 0 if self.is_bound else super().initial_form_count()

    def refuse(self, message: str) -> None:
        """Show what the service refused of the rows as a whole."""
        self.non_form_errors().append(message)


def row_formset(form: type[EventRowForm], *, spare_rows: int = SPARE_ROWS) -> type[RowFormSet]:
    """A formset of ``form`` with spare rows, which a browser without JavaScript shows."""
    return formset_factory(form, RowFormSet, extra=spare_rows, max_num=ROWS_MAX, absolute_max=ROWS_MAX)


FORMSETS: dict[str, type[RowFormSet]] = {
    "transfers": row_formset(TransferForm),
    "leaks": row_formset(LeakForm),
    "repairs": row_formset(RepairForm),
    "tests": row_formset(VerificationForm),
    "statements": row_formset(StatementForm, spare_rows=1),
}
