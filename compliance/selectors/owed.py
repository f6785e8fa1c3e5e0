"""What a reminder tells of: what is owed, where, until when, why, and the pages that show and settle it."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from django.urls import reverse

from compliance.models import Obligation
from compliance.rulebook.filings.catalogue import SPECS
from compliance.selectors.next_filings import SETTLED_BY
from compliance.selectors.reminders import MAY_FILE_ABOUT_CASES, MAY_FILE_VISITS
from compliance.selectors.wording import (
    due_in_words,
    kind_in_words,
    met_by_in_words,
    owed_in_words,
    rule_in_words,
)


@dataclass(frozen=True)
class Owed:
    """One thing owed on one due date, in words.

    Attributes:
        key: what a reminder names it by.
        kind: of the plan that its reminders follow.
        name: what is owed, in a word or two.
        to_do: what has to be done, in a sentence.
        due_on: until when,
        today: and the date there.
        place: where, in one line.
        location: the place alone, with its address; empty where that is no one place.
        facts: further lines, each a label and a text.
        because: why, with the arithmetic,
        rule: the name of the rule,
        source: and with its paragraph.
        met_by: what settles it, in a sentence.
        page: the path of the page that shows it,
        form: and of the form that settles it, of a visit, a filing or a register,
        form_name: what that form is for,
        form_permission: and who may open it.
        page_name: what the page is called.
        is_confirmed: whether no part of the date rests on memory.
    """

    key: str
    kind: str
    name: str
    to_do: str
    due_on: datetime.date
    today: datetime.date
    place: str
    location: str
    facts: tuple[tuple[str, str], ...]
    because: str
    rule: str
    source: str
    met_by: str
    page: str
    form: str
    form_name: str
    form_permission: str
    page_name: str = "The whole case"
    is_confirmed: bool = True

    @property
    def days_left(self) -> int:
        """Days until the due date; negative once it has passed."""
        return (self.due_on - self.today).days

    @property
    def is_overdue(self) -> bool:
        """Whether the due date has passed."""
        return self.days_left < 0

    @property
    def when(self) -> str:
        """How far off the due date is, in words."""
        return due_in_words(self.days_left)

    @property
    def due_label(self) -> str:
        """What the due date is called."""
        return "Due"

    @property
    def late_label(self) -> str:
        """What it is called once the due date has passed."""
        return "Overdue"

    @property
    def counted_where(self) -> str:
        """Whose calendar the due date is of, if that isn't the firm's."""
        return "at the site"

    @property
    def title(self) -> str:
        """What, when and where in one line, as a subject."""
        return " ".join(f"{self.name} {self.when}: {self.place}".split())


class _Form(NamedTuple):
    path: str
    name: str
    permission: str


def owed(obligation: Obligation, now: datetime.datetime) -> Owed:
    """An obligation in words, at an instant.

    Args:
        obligation: one with a due date, fetched with appliance, site and customer.
        now: decides on the date at its site.
    """
    appliance = obligation.appliance
    site = appliance.site
    if obligation.due_on is None:
        message = f"obligation {obligation.key} has no due date to remind of"
        raise ValueError(message)
    located = f" ({appliance.location})" if appliance.location else ""
    located_at = f"{site.name}, {', '.join(site.address_lines)}"
    form = _settling_form(obligation)
    return Owed(
        key=obligation.key,
        kind=obligation.kind,
        name=kind_in_words(obligation.kind),
        to_do=owed_in_words(obligation.kind),
        due_on=obligation.due_on,
        today=now.astimezone(site.zone).date(),
        place=f"{appliance.name}, {site.name}, {site.customer.name}",
        location=located_at,
        facts=(
            ("Appliance", f"{appliance.name}{located}"),
            ("Site", located_at),
            ("Customer", site.customer.name),
        ),
        because=obligation.because,
        rule=(rule := rule_in_words(obligation.rule)),
        source=f"{rule}, {obligation.citation}",
        met_by=met_by_in_words(obligation.kind),
        page=reverse("obligation-detail", args=[obligation.pk]),
        form=form.path,
        form_name=form.name,
        form_permission=form.permission,
        is_confirmed=obligation.is_confirmed,
    )


def obligations_by_key(keys: Iterable[str], now: datetime.datetime) -> dict[str, Owed]:
    """Those of the keys that are of obligations with a due date, in words."""
    obligations = Obligation.objects.filter(key__in=list(keys)).exclude(due_on=None)
    return {row.key: owed(row, now) for row in obligations.select_related("appliance__site__customer")}


def _settling_form(obligation: Obligation) -> _Form:
    """The form that settles an obligation: of a visit, or of a filing where that is what meets it."""
    if settling := SETTLED_BY.get(obligation.kind):
        path = reverse("filing-add", args=[obligation.appliance_id, SPECS[settling].slug])
        return _Form(f"{path}?obligation={obligation.pk}", "File what settles this", MAY_FILE_ABOUT_CASES)
    path = reverse("event-add", args=[obligation.appliance_id])
    return _Form(f"{path}?settles={obligation.kind}", "File the event that settles this", MAY_FILE_VISITS)
