"""The event page: the visit's form and its rows, read together into one submission and refused together."""

import datetime
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from django.forms import BaseForm

from compliance.forms.events.amendment import AmendmentForm
from compliance.forms.events.choices import NEW_LEAK, EventChoices
from compliance.forms.events.initial import EventInitial
from compliance.forms.events.reading import read_submission
from compliance.forms.events.rows import FORMSETS, ROWS_MAX, SPARE_ROWS, EventRowForm, RowFormSet
from compliance.forms.events.visit import VisitForm, read_date
from compliance.selectors.event_form import EventBackground
from jobs.errors import Refusal, SubmissionRefused
from jobs.forms.refusals import add_refusals
from jobs.models import WorkKind
from jobs.services.log_uploads import LogShelf
from jobs.services.submission import EventSubmission

ROW_NAMES = {
    "transfers": "Transfer",
    "leaks": "Leak found",
    "repairs": "Repair",
    "tests": "Test",
    "statements": "Statement",
}

# Which kinds of work open which section of the page.
SECTION_WORK: Mapping[str, tuple[str, ...]] = {
    "circuit": (WorkKind.INSTALLATION, WorkKind.RETROFIT, WorkKind.DISPOSAL),
    "inspection": (WorkKind.LEAK_INSPECTION,),
    "repairs": (WorkKind.LEAK_REPAIR,),
    "tests": (WorkKind.VERIFICATION,),
    "more": (WorkKind.RETROFIT, WorkKind.DISPOSAL),
    "owner": (),
}
SECTION_FIELDS: Mapping[str, tuple[str, ...]] = {
    "circuit": ("is_circuit_opened", "opening_kind", "opening_note", "final_vacuum"),
    "inspection": ("inspection_methods", "inspection_other", "inspection_note"),
    "repairs": (),
    "tests": (),
    "more": ("is_separate_visit",),
    "owner": ("owner_told_on", "owner_told_name", "owner_decision"),
}
SECTION_ROWS: Mapping[str, tuple[str, ...]] = {
    "inspection": ("leaks",),
    "repairs": ("repairs",),
    "tests": ("tests",),
    "more": ("statements",),
}

# The service's names of fields, where the page's are others.
RENAMED_FIELDS = {"inspection": "inspection_methods"}

# The page's own bookkeeping, of which nobody gave a value.
HIDDEN_FIELDS = {"submission_id", "event"}


@dataclass(frozen=True)
class PageError:
    """One thing wrong, for the list at the top of the page."""

    field_id: str
    label: str
    message: str


class EventPage:
    """All forms of one event's page.

    Args:
        background: what there is to choose from.
        initial: what the page stands filled with before anyone types.
        data: what was sent, or None.
        today: the date at the site.
        amendment: asks for the reason where a filed record is corrected.
        shelf: the logs that the rows may name.
        refused_files: by the box's name, why a file that was sent was not kept.
    """

    def __init__(
        self,
        background: EventBackground,
        initial: EventInitial,
        data: Mapping[str, Any] | None = None,
        *,
        today: datetime.date,
        amendment: AmendmentForm | None = None,
        shelf: LogShelf | None = None,
        refused_files: Mapping[str, str] | None = None,
    ) -> None:
        self.background = background
        self.choices = EventChoices(
            background,
            _leak_row_count(initial, data),
            read_date(initial.visit["happened_on"] if data is None else data.get("happened_on")),
            shelf=shelf,
            refused_files=refused_files or {},
        )
        self.visit = VisitForm(data, initial=initial.visit, choices=self.choices, today=today)
        self.formsets: dict[str, RowFormSet] = {
            name: formset(
                data,
                prefix=name,
                initial=None if data is not None else initial.rows.get(name, []),
                form_kwargs={"choices": self.choices},
            )
            for name, formset in FORMSETS.items()
        }
        self.amendment = amendment
        self._initial = initial

    def is_valid(self) -> bool:
        """Check every form, so that all of their errors show at once, and what holds between them."""
        parts = [*filter(None, [self.amendment]), self.visit, *self.formsets.values()]
        checks = [part.is_valid() for part in parts]
        return all(checks) and self._leaks_are_filled_in()

    def filled(self, name: str) -> list[tuple[int, EventRowForm]]:
        """The rows of a formset that say something, each with its place on the page."""
        return [(place, form) for place, form in enumerate(self.formsets[name].forms) if not form.is_blank]

    def submission(self) -> EventSubmission:
        """What was typed, as the service takes it; only after ``is_valid``."""
        return read_submission(self.background.appliance, self.visit, self.filled)

    def refuse(self, error: SubmissionRefused) -> None:
        """Show what the service refused, each at its field."""
        for refusal in error.refusals:
            if refusal.field in HIDDEN_FIELDS:
                self.visit.add_error(None, refusal.expected)
            elif formset := self.formsets.get(refusal.field):
                formset.refuse(str(refusal))
        elsewhere = HIDDEN_FIELDS | self.formsets.keys()
        shown = [refusal for refusal in error.refusals if refusal.field not in elsewhere]
        refusals = [replace(refusal, field=self._page_name(refusal)) for refusal in shown]
        rows = {name: [form for _, form in self.filled(name)] for name in self.formsets}
        add_refusals(self.visit, SubmissionRefused(refusals), rows)

    @cached_property
    def is_open(self) -> dict[str, bool]:
        """Which of the optional sections stand open: those that say something, are wrong, or belong to the work."""
        return {section: self._is_section_open(section) for section in SECTION_WORK}

    @property
    def errors(self) -> list[PageError]:
        """Everything that is wrong, in the page's order."""
        amendment = _form_errors(self.amendment, "") if self.amendment else ()
        return [*amendment, *_form_errors(self.visit, ""), *self._row_errors()]

    def _row_errors(self) -> Iterator[PageError]:
        for name, formset in self.formsets.items():
            if formset.is_bound:
                for message in formset.non_form_errors():
                    yield PageError(f"section-{name}", ROW_NAMES[name], message)
                for place, form in enumerate(formset.forms):
                    yield from _form_errors(form, f"{ROW_NAMES[name]} {place + 1}: ")

    def _page_name(self, refusal: Refusal) -> str:
        """The page's name of a field that the service refused."""
        match = re.fullmatch(r"statements-(\d+)-(.+)", refusal.field)
        if match and self.visit.cleaned_data["is_back_to_normal"]:
            # Back to normal operation goes to the service as the first statement.
            row = int(match[1])
            return "is_back_to_normal" if row == 0 else f"statements-{row - 1}-{match[2]}"
        return RENAMED_FIELDS.get(refusal.field, refusal.field)

    def _leaks_are_filled_in(self) -> bool:
        """Refuse a row that speaks of a leak found on this visit whose own row is blank."""
        known = {f"{NEW_LEAK}{place + 1}" for place, _ in self.filled("leaks")}
        is_fine = True
        for name in ("transfers", "repairs", "tests"):
            for _, form in self.filled(name):
                chosen = form.cleaned_data.get("leak")
                if isinstance(chosen, str) and chosen not in known:
                    form.add_error(
                        "leak",
                        f"{chosen.replace(NEW_LEAK, 'New leak ')} has no part and place under “Leaks found”.",
                    )
                    is_fine = False
        return is_fine

    def _is_section_open(self, section: str) -> bool:
        value: Callable[[str], Any] = lambda name: self.visit[name].value()  # noqa: E731
        has_work = set(value("work_kinds") or ()) & set(SECTION_WORK[section])
        has_fields = any(value(name) or self.visit[name].errors for name in SECTION_FIELDS[section])
        has_rows = any(
            self.filled(name) or self.formsets[name].non_form_errors()
            for name in SECTION_ROWS.get(section, ())
        )
        return bool(has_work or has_fields or has_rows or section in self._initial.open_sections)


def _form_errors(form: BaseForm, prefix: str) -> Iterator[PageError]:
    for message in form.non_field_errors():
        yield PageError("", prefix.rstrip(": "), message)
    for field in form:
        for message in field.errors:
            yield PageError(field.id_for_label or field.auto_id, f"{prefix}{field.label}", message)


def _leak_row_count(initial: EventInitial, data: Mapping[str, Any] | None) -> int:
    if data is None:
        return len(initial.rows.get("leaks", [])) + SPARE_ROWS
    sent = str(data.get("leaks-TOTAL_FORMS", ""))
    # Python reads no figure of thousands of digits; the first few tell that it is above the limit.
    return min(int(sent[:4]), ROWS_MAX) if sent.isdecimal() else 0
