"""The form of the visit itself: everything of a service event that stands once."""

import datetime
import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.dateparse import parse_date

from compliance.forms.events.choices import EventChoices
from compliance.forms.events.opening import OpeningForm
from compliance.forms.events.widgets import CheckTiles, TellingSelect, Tiles
from compliance.rulebook.evacuation import major_in_words
from compliance.selectors.opening import US_JURISDICTIONS
from jobs.errors import SubmissionRefused
from jobs.forms.layout import DateField
from jobs.forms.refusals import add_refusals
from jobs.models import OwnerDecision, WorkKind, WorkOrigin
from jobs.services.checks.days import check_days
from jobs.services.refusals import Refusals

# Methods of finding leaks that the trade uses; common practice, no source. The law asks for the method, and names none.
INSPECTION_METHODS = (
    "Electronic detector",
    "Bubble solution",
    "Ultrasonic detector",
    "Ultraviolet dye",
    "Nitrogen pressure",
    "Oil traces",
)
OTHER_METHOD = "other"

# What the signature pad writes: strokes of absolute moves and lines on a sheet of 600 by 200.
SIGNATURE_PATH = re.compile(r"(?:M\d{1,3} \d{1,3}(?:L\d{1,3} \d{1,3})+)+")
SIGNATURE_LENGTH_MAX = 20_000


class VisitForm(OpeningForm):
    """When and by whom, what was done, what a leak inspection was like, who signed and who was told."""

    # As on the page; what isn't named follows, the opening first.
    field_order = (
        *("submission_id", "happened_on", "origin", "contractor_name", "technician", "supervisor"),
        *("work_kinds", "work_done"),
    )

    submission_id = forms.UUIDField(widget=forms.HiddenInput)
    happened_on = DateField(label="Date at the site")
    origin = forms.ChoiceField(label="Whose work", choices=WorkOrigin.choices)
    contractor_name = forms.CharField(label="Contractor's name", max_length=160, required=False)
    technician = forms.TypedChoiceField(required=False, empty_value=None)
    supervisor = forms.TypedChoiceField(
        label="Supervised by",
        required=False,
        empty_value=None,
        help_text="An apprentice works under close and continual supervision (40 CFR 82.161(a)).",
    )
    work_kinds = forms.MultipleChoiceField(
        label="Tick all that apply",
        choices=WorkKind.choices,
        widget=CheckTiles,
        error_messages={"required": "Tick at least one kind of work."},
    )
    work_done = forms.CharField(
        label="Parts and work",
        widget=forms.Textarea({"rows": 3}),
        help_text="Each part worked on, and what was done to it (40 CFR 82.157(l)(2), 84.106(l)(2)).",
        error_messages={"required": "Say which parts were worked on and what was done; a few words will do."},
    )
    inspection_methods = forms.MultipleChoiceField(
        label="Methods used",
        required=False,
        choices=[*((name, name) for name in INSPECTION_METHODS), (OTHER_METHOD, "Another")],
        widget=CheckTiles,
    )
    inspection_other = forms.CharField(label="Which other method", max_length=120, required=False)
    is_inspection_complete = forms.BooleanField(
        label="All visible and accessible parts were inspected", required=False
    )
    inspection_note = forms.CharField(
        label="What was left out, and why",
        required=False,
        widget=forms.Textarea({"rows": 2}),
        help_text="Such as parts behind insulation, iced over or unsafe to reach.",
    )
    is_back_to_normal = forms.BooleanField(
        label="Back to normal operating conditions",
        required=False,
        help_text=(
            "Temperatures, pressures and flows are as usual. "
            "After a repair with evacuation, the follow-up test counts from this day."
        ),
    )
    owner_told_on = DateField(label="Told on", required=False)
    owner_told_name = forms.CharField(label="Who was told", max_length=120, required=False)
    owner_decision = forms.ChoiceField(
        label="What they said", required=False, choices=OwnerDecision.choices, widget=Tiles
    )
    signature_name = forms.CharField(
        label="Customer's name",
        max_length=120,
        required=False,
        help_text="A typed name counts; drawing is optional.",
    )
    signature_svg_path = forms.CharField(
        required=False, widget=forms.HiddenInput({"data-signature-path": ""})
    )
    is_separate_visit = forms.BooleanField(
        label="A second visit on the same day with the very same figures", required=False
    )

    def __init__(self, *args: Any, choices: EventChoices, today: datetime.date, **kwargs: Any) -> None:
        self.choices = choices
        self.today = today
        super().__init__(*args, **kwargs)
        technician, supervisor = self.fields["technician"], self.fields["supervisor"]
        technician.coerce = supervisor.coerce = choices.technician
        technician.widget = TellingSelect(choices.technician_data)
        technician.choices = [("", "Choose the technician"), *choices.technicians]
        supervisor.choices = [("", "Nobody"), *choices.supervisors]
        self.offer_machines(choices.background.machines)
        self.offer_gauges(choices)
        if choices.background.appliance.site.jurisdiction in US_JURISDICTIONS:
            self.fields["opening_kind"].help_text = major_in_words(on=today)
        self.dress()

    def clean_signature_svg_path(self) -> str:
        """Take the pad's drawing and nothing else: it is printed into pages."""
        path = self.cleaned_data["signature_svg_path"]
        if path and (len(path) > SIGNATURE_LENGTH_MAX or not SIGNATURE_PATH.fullmatch(path)):
            message = "The drawing can't be read. Clear it and sign again, or type the name alone."
            raise ValidationError(message, code="invalid")
        return path

    def clean(self) -> dict[str, Any]:
        """Check what one box alone can't show."""
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("signature_svg_path") and not cleaned.get("signature_name"):
            self.add_error(
                "signature_name", "Type the name of the person who signed; the drawing doesn't tell it."
            )
        has_other = OTHER_METHOD in cleaned.get("inspection_methods", ())
        if has_other and not cleaned.get("inspection_other"):
            self.add_error("inspection_other", "Name the other method.")
        self._check_days(cleaned)
        return cleaned

    def _check_days(self, cleaned: dict[str, Any]) -> None:
        """Say what is wrong with a day beside all else, not only once the rest is right and goes to the service."""
        refusals = Refusals()
        check_days(
            refusals,
            appliance=self.choices.background.appliance,
            today=self.today,
            happened_on=cleaned.get("happened_on"),
            owner_told_on=cleaned.get("owner_told_on"),
        )
        add_refusals(self, SubmissionRefused(refusals.found))

    @property
    def inspection_text(self) -> str:
        """The methods as the record keeps them: their names, the other one in the technician's words."""
        chosen = self.cleaned_data["inspection_methods"]
        names = [name for name in chosen if name != OTHER_METHOD]
        if OTHER_METHOD in chosen or self.cleaned_data["inspection_other"]:
            names.append(self.cleaned_data["inspection_other"])
        return ", ".join(names)


def split_methods(text: str) -> tuple[list[str], str]:
    """Read a record's methods back into the form's boxes: those it offers, and the rest as one text."""
    names = [name.strip() for name in text.split(",") if name.strip()]
    known = [name for name in names if name in INSPECTION_METHODS]
    other = ", ".join(name for name in names if name not in INSPECTION_METHODS)
    return ([*known, OTHER_METHOD] if other else known), other


def read_date(text: Any) -> datetime.date | None:
    """Read what a date box holds; nothing where it holds no date."""
    if isinstance(text, datetime.date) or text is None:
        return text
    try:
        return parse_date(text)
    except ValueError:
        return None
