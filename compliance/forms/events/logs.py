"""The scale's log of one transfer on a form: a file, what it leaves open, and what it says against the typed mass."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.http import QueryDict

from compliance.forms.events.styled import StyledForm
from compliance.rulebook.masses import format_mass, in_unit
from jobs.errors import SubmissionRefused
from jobs.forms.masses import MassField
from jobs.models import Instrument, InstrumentKind, Transfer, WeighLogUpload
from jobs.services.entries import EnteredMass
from jobs.services.log_entries import LogAnswers, LogEntry, WeighedLog
from jobs.services.log_readings import UNITS, direction_of, log_refusal, log_weigh, mass_against_log
from jobs.services.log_uploads import (
    LogShelf,
    answers_of,
    check_log_size,
    content_of,
    log_upload,
    log_upload_answer,
)
from jobs.services.submission import INTO_APPLIANCE, OUT_OF_APPLIANCE
from jobs.weighing import InvalidLog, UnclearLog
from jobs.weighing.comparison import MassComparison

COLUMN_MAX = 200
LOST = (
    "This log is not here any more: an upload is kept for two weeks, for the person who sent it. "
    "Choose the file again."
)
QUESTION_FIELDS = {"unit": "log_unit", "time_column": "log_time_column", "weight_column": "log_weight_column"}


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


@dataclass
class LogSlot:
    """What a row shows of its log.

    Attributes:
        token: by which the form names it.
        name: of the file.
        unit: in which its masses are shown.
        entry: what the transfer is filed with, once the log is clear.
        question: what is to be asked about it.
        comparison: the typed mass against the log's, once both are there.
        problems: what is wrong: (field, message).
        answers: what was answered.
        filed: the transfer, if it is filed already and its mass with it.
    """

    token: str = ""
    name: str = ""
    unit: str = "lb"
    entry: LogEntry | None = None
    question: UnclearLog | None = None
    comparison: MassComparison | None = None
    problems: list[tuple[str, str]] = field(default_factory=list)
    answers: LogAnswers = field(default_factory=LogAnswers)

    filed: Transfer | None = None

    @property
    def weighed(self) -> WeighedLog | None:
        return self.entry.weighed if self.entry else None

    @property
    def net(self) -> str:
        """The log's mass as the form takes it."""
        return str(in_unit(self.weighed.net_mg, self.unit))

    @property
    def columns(self) -> list[tuple[int, str]]:
        """The columns that the file has, each with what stands in its first row."""
        rows = self.question.first_rows if self.question else []
        count = max((len(row) for row in rows), default=0)
        heads = [
            next((row[place] for row in rows if place < len(row) and row[place]), "")
            for place in range(count)
        ]
        return [
            (place, f"{place + 1}: {head}" if head else str(place + 1)) for place, head in enumerate(heads)
        ]

    @property
    def difference(self) -> str:
        """By how much the typed mass is off, in words."""
        off_mg = self.comparison.difference_mg
        return f"{format_mass(abs(off_mg), self.unit)} {'more' if off_mg > 0 else 'less'}"

    @property
    def tolerance(self) -> str:
        return format_mass(self.comparison.tolerance_mg, self.unit)

    @property
    def uncertainty(self) -> str:
        return format_mass(round(self.weighed.weighing.uncertainty_mg), self.unit)


def fill_slot(
    shelf: LogShelf | None,
    token: str,
    answers: LogAnswers,
    *,
    direction: str,
    mass: EnteredMass | None,
    scale: Instrument | None,
    unit: str,
) -> LogSlot:
    """Read the log that a row names, and hold the typed mass against it; what is unclear is asked for."""
    slot = LogSlot(token=token, unit=unit)
    if not token:
        return slot
    shelved = shelf.find(token) if shelf else None
    if shelved is None:
        slot.token = ""
        slot.problems.append(("log_file", LOST))
        return slot
    if answers == LogAnswers():
        answers = answers_of(shelved)
    elif isinstance(shelved, WeighLogUpload):
        log_upload_answer(upload=shelved, answers=answers)
    slot.name, slot.answers = shelved.name, answers
    content = content_of(shelved)
    division_mg = scale.division_mg if scale else None
    try:
        weighed = log_weigh(content, answers, direction=direction, division_mg=division_mg)
    except UnclearLog as question:
        slot.question = question
        slot.problems.append((QUESTION_FIELDS.get(question.field, "log_file"), _asked(question)))
    except InvalidLog as error:
        slot.problems.append(("log_file", str(log_refusal("log_file", shelved.name, error))))
    else:
        slot.entry = LogEntry(shelved.name, content, answers, weighed)
        if mass:
            slot.comparison = mass_against_log(
                mass_mg=mass.mass_mg,
                entered_value=mass.value,
                entered_unit=mass.unit,
                weighed=weighed,
                division_mg=division_mg,
            )
    return slot


def _asked(question: UnclearLog) -> str:
    given = f" The file says “{question.value}”." if question.value else ""
    return f"The file leaves this open: expected {question.expected}.{given}"


class LogRowForm(WeighLogFields, StyledForm):
    """A log with what it is held against: the row of a transfer, as far as it is filled in, or a filed transfer."""

    direction = forms.ChoiceField(
        required=False, choices=[(way, way) for way in (INTO_APPLIANCE, OUT_OF_APPLIANCE)]
    )
    mass = MassField(required=False)
    scale = forms.ModelChoiceField(Instrument.objects.filter(kind=InstrumentKind.SCALE), required=False)

    def __init__(
        self, *args: Any, shelf: LogShelf, unit: str, filed: Transfer | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.shelf = shelf
        self.filed = filed
        self.unit = unit
        self.slot = LogSlot(unit=unit, filed=filed)
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
