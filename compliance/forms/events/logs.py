"""The boxes of a scale's log on a form, and the files that come with them."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.http import QueryDict

from compliance.forms.events.log_slots import QUESTION_FIELDS, LogSlot, fill_slot
from compliance.forms.events.styled import StyledForm
from compliance.selectors.log_days import LoggedVisit
from jobs.errors import SubmissionRefused
from jobs.forms.masses import MassField
from jobs.models import Instrument, InstrumentKind, Transfer
from jobs.services.entries import EnteredMass
from jobs.services.log_entries import LogAnswers
from jobs.services.log_readings import UNITS, direction_of
from jobs.services.log_uploads import LogShelf, check_log_size, log_upload
from jobs.services.submission import INTO_APPLIANCE, OUT_OF_APPLIANCE

COLUMN_MAX = 200


class WeighLogFields(forms.Form):
    """The boxes of a log; ``log`` names the file that was sent before."""

    log = forms.CharField(required=False, max_length=60, widget=forms.HiddenInput)
    log_file = forms.FileField(
        label="The scale's log",
        required=False,
        widget=forms.FileInput(
            {"accept": ".csv,.txt,.tsv,.log,text/plain,text/csv", "class": "form-control"}
        ),
    )
    log_unit = forms.ChoiceField(
        label="Unit of the weight",
        required=False,
        choices=[("", "Choose"), *((unit, unit) for unit in UNITS)],
    )
    log_time_column = forms.IntegerField(
        label="Column of the time", required=False, min_value=0, max_value=COLUMN_MAX
    )
    log_weight_column = forms.IntegerField(
        label="Column of the weight", required=False, min_value=0, max_value=COLUMN_MAX
    )

    @property
    def log_answers(self) -> LogAnswers:
        """What was answered about the log just now."""
        typed = self.cleaned_data
        return LogAnswers(
            typed.get("log_unit") or "", typed.get("log_time_column"), typed.get("log_weight_column")
        )


class LogRowForm(WeighLogFields, StyledForm):
    """A log with what it is held against: the row of a transfer, as far as it is filled in, or a filed transfer."""

    direction = forms.ChoiceField(
        required=False, choices=[(way, way) for way in (INTO_APPLIANCE, OUT_OF_APPLIANCE)]
    )
    mass = MassField(required=False)
    scale = forms.ModelChoiceField(Instrument.objects.filter(kind=InstrumentKind.SCALE), required=False)

    def __init__(
        self,
        *args: Any,
        shelf: LogShelf,
        unit: str,
        visit: LoggedVisit | None = None,
        filed: Transfer | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.shelf = shelf
        self.visit = visit
        self.filed = filed
        self.unit = unit
        self.slot = LogSlot(unit=unit, visit=visit, filed=filed)
        self.dress()

    def clean(self) -> dict[str, Any]:
        """Read the log; what is wrong with it stands at its boxes."""
        cleaned = super().clean() or self.cleaned_data
        filed = self.filed
        typed = filed and EnteredMass(filed.entered_value, filed.entered_unit, filed.mass_mg)
        self.slot = fill_slot(
            self.shelf,
            cleaned.get("log") or "",
            self.log_answers,
            direction=direction_of(filed) if filed else cleaned.get("direction") or "",
            mass=typed or cleaned.get("mass"),
            scale=filed.scale if filed else cleaned.get("scale"),
            unit=self.unit,
            visit=self.visit,
        )
        self.slot.filed = filed
        for name, message in self.slot.problems:
            self.add_error(name, message)
        return cleaned


def take_in_files(
    data: QueryDict, files: Mapping[str, UploadedFile], *, by: Any, now: datetime
) -> tuple[QueryDict, dict[str, str]]:
    """Keep the logs that were sent with a form, so that no error of the form loses them.

    Args:
        data: what was sent.
        files: the files beside it, by the names of their boxes, such as ``transfers-0-log_file``.
        by: who sent it.
        now: the instant of the upload.

    Returns:
        The data, in which each row names its upload; and by the box's name why a file was not kept.
    """
    data = data.copy()
    refused: dict[str, str] = {}
    for box, file in files.items():
        if not box.endswith("log_file"):
            continue
        row = box.removesuffix("log_file")
        try:
            check_log_size(file.name or "", file.size or 0)
            upload = log_upload(by=by, name=file.name or "", content=file.read(), uploaded_at=now)
        except SubmissionRefused as error:
            refused[box] = " ".join(str(refusal) for refusal in error.refusals)
        else:
            data[f"{row}log"] = str(upload.pk)
            # The answers were about another file.
            for name in QUESTION_FIELDS.values():
                data.pop(f"{row}{name}", None)
    return data, refused
