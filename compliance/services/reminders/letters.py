"""The texts of reminders: what is owed, until when, why, and the page that settles it; alone or in a digest."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.template.loader import render_to_string

from compliance.selectors.owed import Owed
from compliance.selectors.reminders import Recipient

SUBJECT_LENGTH_MAX = 240


@dataclass(frozen=True)
class Letter:
    """A message as written."""

    subject: str
    body: str
    body_html: str


def reminder_letter(owed: Owed, *, recipient: Recipient) -> Letter:
    """Write to one person about what is owed.

    The technician is led to the event form that settles it, if one does, the officer to the case; a customer's contact
    gets no link.
    """
    return _letter("reminder", owed.title, {"owed": owed, "recipient": recipient})


def digest_letter(items: Sequence[Owed]) -> Letter:
    """Write to one person who signs in about all that waited for the digest, by due date.

    Raises:
        ValueError: nothing is left to write about.
    """
    if not items:
        message = "nothing is left of this digest"
        raise ValueError(message)
    items = sorted(items, key=lambda item: (item.due_on, item.title))
    overdue = sum(item.days_left < 0 for item in items)
    late = f", {overdue} overdue" if overdue else ""
    first = items[0]
    subject = f"{len(items)} reminders{late}" if len(items) > 1 else f"1 reminder: {first.title}"
    return _letter("digest", subject, {"items": items})


def _letter(template: str, subject: str, context: dict[str, Any]) -> Letter:
    context = {**context, "firm_name": settings.FIRM_NAME, "site_url": settings.SITE_URL.rstrip("/")}
    return Letter(
        subject=subject[:SUBJECT_LENGTH_MAX],
        body=render_to_string(f"compliance/email/{template}.txt", context),
        body_html=render_to_string(f"compliance/email/{template}.html", context),
    )
