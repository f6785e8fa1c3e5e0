"""The what-if page as it stands: the question, and its facts as lines that can be opened for changing."""

import datetime
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.forms import BaseForm, Form

from compliance.forms.events.page import PageError
from compliance.forms.what_if.case import CaseForm, case_initial
from compliance.forms.what_if.facts import FactForm, fact_initial, refusal_in_words
from compliance.rulebook.document import Document, document_json
from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.facts import FactKind, LeakRateMethod
from compliance.rulebook.parse import parse_json
from compliance.rulebook.parse_facts import read_fact
from compliance.rulebook.rules import US_FEDERAL
from compliance.selectors.fact_words import fact_in_words
from compliance.selectors.what_if import FACTS_MAX, CaseRefused

ROWS_SHOWN = 15
# Django takes a thousand boxes at once: a long history, and so many open rows beside it.
OPEN_ROWS_MAX = 40

ROW_NAME = re.compile(r"facts-(\d{1,6})-(json|kind)", re.ASCII)
FACT_PATH = re.compile(r"facts\[(\d+)\]", re.ASCII)


@dataclass(frozen=True)
class FactRow:
    """One fact of the page: open, as a form; or closed, as a line that carries it.

    ``place`` tells its boxes from those of other rows. Rows of one day count in the order of the page.
    """

    place: int
    fact: Document | None = None
    form: FactForm | None = None

    @property
    def words(self) -> str:
        """A closed row's line."""
        return fact_in_words(self.fact) if self.fact else ""

    @property
    def json(self) -> str:
        """What a closed row sends along."""
        return document_json(self.fact, indent=None)

    def opened(self, mass_unit: str = "lb") -> "FactRow":
        """The row with its boxes open."""
        if self.fact is None:
            return self
        kind = FactKind(self.fact["kind"])
        form = FactForm(kind, prefix=prefix(self.place), initial=fact_initial(self.fact), mass_unit=mass_unit)
        return FactRow(self.place, form=form)

    def unchecked(self, mass_unit: str) -> "FactRow":
        """The row with what was typed into its boxes, without any word about it."""
        if self.form is None:
            return self
        form = FactForm(
            self.form.kind, prefix=prefix(self.place), initial=as_typed(self.form), mass_unit=mass_unit
        )
        return FactRow(self.place, form=form)


class WhatIfPage:
    """The page's forms.

    Args:
        case_form: the question and the appliance.
        rows: the facts, in the order of the page.
        mass_unit: in which the full charge is given; the next mass most likely has it too.
    """

    def __init__(self, case_form: CaseForm, rows: list[FactRow], mass_unit: str = "lb") -> None:
        self.case_form = case_form
        self.rows = rows
        self.mass_unit = mass_unit
        self.general_errors: list[PageError] = []

    @classmethod
    def of_case(cls, case: Document) -> "WhatIfPage":
        """The page of a document that ``assess`` can read, every row closed."""
        rows = [FactRow(place, fact=fact) for place, fact in enumerate(case["facts"])]
        return cls(CaseForm(initial=case_initial(case)), rows)

    @classmethod
    def blank(cls, today: datetime.date) -> "WhatIfPage":
        """The page before anyone typed: asked about today, under the federal rules, nothing has happened."""
        begin = {"as_of": today, "rules": [US_FEDERAL], "leak_rate_method": LeakRateMethod.ANNUALIZING}
        return cls(CaseForm(initial=begin), [])

    @classmethod
    def of_post(cls, data: Mapping[str, Any], *, is_asked: bool) -> "WhatIfPage":
        """The page as it was sent.

        Args:
            data: what was sent.
            is_asked: whether the boxes are to be checked; while rows come and go, nothing is wrong yet.
        """
        unit = data.get("full_charge_unit", "lb")
        case_form = CaseForm(data)
        page = cls(case_form if is_asked else CaseForm(initial=as_typed(case_form)), [], unit)
        for place, what in sorted(_places(data)):
            try:
                row = _sent_row(data, place, what, unit)
            except InvalidInput as error:
                # Only a hand-made request comes here: closed rows carry what was read before.
                page.general_errors.append(PageError("", f"Fact {place + 1}", refusal_in_words(error)))
            else:
                page.rows.append(row if is_asked else row.unchecked(unit))
        return page

    @property
    def earlier(self) -> list[FactRow]:
        """The rows of a long history that are folded away."""
        return self.rows[:-ROWS_SHOWN]

    @property
    def latest(self) -> list[FactRow]:
        """The rows that stand in sight."""
        return self.rows[-ROWS_SHOWN:]

    @property
    def is_earlier_open(self) -> bool:
        """Whether one of the rows that are folded away has its boxes open."""
        return any(row.form for row in self.earlier)

    @property
    def has_room(self) -> bool:
        """Whether one more fact may stand on the page."""
        return len(self.rows) < FACTS_MAX

    @property
    def may_open(self) -> bool:
        """Whether one more row may stand open."""
        return sum(1 for row in self.rows if row.form) < OPEN_ROWS_MAX

    def case(self) -> Document:
        """What was typed, as the document that ``assess`` takes.

        Raises:
            CaseRefused: a box can't be read; the boxes say so.
        """
        if self.errors:
            raise CaseRefused([])
        facts = [row.form.fact if row.form else row.fact for row in self.rows]
        return {**self.case_form.document, "facts": facts}

    def refuse(self, refused: CaseRefused) -> None:
        """Show what was refused of the whole, each at its row and box."""
        for error in refused.errors:
            match = FACT_PATH.match(error.field)
            name = error.field.removeprefix("appliance.").partition(".")[0]
            if self.case_form.is_bound and not match and name in self.case_form.fields:
                self.case_form.add_error(name, refusal_in_words(error))
            else:
                label = f"Fact {int(match[1]) + 1}" if match else error.field
                self.general_errors.append(PageError("", label, refusal_in_words(error)))

    def row(self, place: int) -> FactRow | None:
        """The row of a place, if there is one."""
        return next((row for row in self.rows if row.place == place), None)

    def open(self, place: int) -> FactRow | None:
        """Open a row for changing."""
        self.rows = [row.opened(self.mass_unit) if row.place == place else row for row in self.rows]
        row = self.row(place)
        if row is not None and row.form is not None:
            row.form.take_focus()
        return row

    def remove(self, place: int) -> None:
        """Drop a row."""
        self.rows = [row for row in self.rows if row.place != place]

    def add(self, kind: FactKind) -> FactRow:
        """Put an open row of a kind at the end."""
        place = max((row.place for row in self.rows), default=-1) + 1
        form = FactForm(kind, prefix=prefix(place), mass_unit=self.mass_unit)
        form.take_focus()
        row = FactRow(place, form=form)
        self.rows.append(row)
        return row

    @property
    def errors(self) -> list[PageError]:
        """Everything that is wrong, in the page's order."""
        return [*self.general_errors, *_form_errors(self.case_form, ""), *self._row_errors()]

    def _row_errors(self) -> Iterator[PageError]:
        for row in self.rows:
            if row.form is not None and row.form.is_bound:
                yield from _form_errors(row.form, f"{row.form.name}: ")


def as_typed(form: Form) -> dict[str, Any]:
    """What was sent for each box, as it was typed."""
    return {
        name: field.widget.value_from_datadict(form.data, form.files, form.add_prefix(name))
        for name, field in form.fields.items()
    }


def prefix(place: int) -> str:
    """What the names of a row's boxes begin with."""
    return f"facts-{place}"


def _places(data: Mapping[str, Any]) -> set[tuple[int, str]]:
    return {(int(match[1]), match[2]) for name in data if (match := ROW_NAME.fullmatch(name))}


def _sent_row(data: Mapping[str, Any], place: int, what: str, mass_unit: str) -> FactRow:
    sent = data[f"{prefix(place)}-{what}"]
    if what == "kind":
        if sent not in tuple(FactKind):
            raise InvalidInput("kind", sent, "one of " + ", ".join(FactKind))
        return FactRow(place, form=FactForm(FactKind(sent), data, prefix=prefix(place), mass_unit=mass_unit))
    fact = parse_json(sent)
    read_fact(fact, "fact")
    return FactRow(place, fact=fact)


def _form_errors(form: BaseForm, before: str) -> Iterator[PageError]:
    for message in form.non_field_errors():
        yield PageError("", before.rstrip(": "), message)
    for field in form:
        for message in field.errors:
            yield PageError(field.id_for_label or field.auto_id, f"{before}{field.label}", message)
