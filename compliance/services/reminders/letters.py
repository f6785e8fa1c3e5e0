"""The texts of reminders: what is owed, until when, why, and the page that settles it; alone or in a digest."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.template.loader import render_to_string

from compliance.selectors.owed import Owed
from compliance.selectors.reminders import Recipient
from portal.accounts.models import User

SUBJECT_LENGTH_MAX = 240


@dataclass(frozen=True)
class Letter:
    """A message as written."""

    subject: str
    body: str
    body_html: str


@dataclass(frozen=True)
class Escalation:
    """Which reminder nobody acknowledged, since when it is out, and whom it reached."""

    milestone: str
    since_on: datetime.date
    told: Sequence[str]

    @property
    def name(self) -> str:
        """The milestone's name in the rows by which the officers are told."""
        return f"unacknowledged, {self.milestone}"


def reminder_letter(
    owed: Owed, *, recipient: Recipient, acknowledge_path: str = "", escalation: Escalation | None = None
) -> Letter:
    """Write to one person about what is owed.

    Whoever files what settles it is led to the form; everybody who signs in to the case. A customer's contact gets no
    link but the one that acknowledges.

    Args:
        owed: what is owed.
        recipient: to whom.
        acknowledge_path: of the page that acknowledges it without signing in; none if empty.
        escalation: if it is about a reminder that nobody acknowledged, which.
    """
    context = {
        "owed": owed,
        "recipient": recipient,
        "acknowledge_path": acknowledge_path,
        "escalation": escalation,
    }
    return _letter("reminder", f"Not acknowledged: {owed.title}" if escalation else owed.title, context)


def digest_letter(items: Sequence[Owed], *, recipient: User, acknowledge_path: str) -> Letter:
    """Write to one person who signs in about all that waited for the digest, by due date.

    Raises:
        ValueError: nothing is left to write about.
    """
    if not items:
        message = "nothing is left of this digest"
        raise ValueError(message)
    items = sorted(items, key=lambda item: (item.due_on, item.title))
    overdue = sum(item.is_overdue for item in items)
    late = f", {overdue} overdue" if overdue else ""
    first = items[0]
    subject = f"{len(items)} reminders{late}" if len(items) > 1 else f"1 reminder: {first.title}"
    may_open = {item.form_permission for item in items if recipient.has_perm(item.form_permission)}
    context = {"items": items, "may_open": may_open, "acknowledge_path": acknowledge_path}
    return _letter("digest", subject, context)


def _letter(template: str, subject: str, context: dict[str, Any]) -> Letter:
    context = {**context, "firm_name": settings.FIRM_NAME, "site_url": settings.SITE_URL.rstrip("/")}
    return Letter(
        subject=subject[:SUBJECT_LENGTH_MAX],
        body=render_to_string(f"compliance/email/{template}.txt", context),
        body_html=render_to_string(f"compliance/email/{template}.html", context),
    )
