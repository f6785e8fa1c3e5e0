"""The text of a reminder: what is owed, until when, why, and the page that settles it."""

from dataclasses import dataclass

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse

from compliance.models import Obligation
from compliance.selectors.reminders import Recipient
from compliance.selectors.wording import (
    due_in_words,
    kind_in_words,
    met_by_in_words,
    owed_in_words,
    rule_in_words,
)


@dataclass(frozen=True)
class Letter:
    """A reminder as written."""

    subject: str
    body: str
    body_html: str


def reminder_letter(obligation: Obligation, *, days_left: int, recipient: Recipient) -> Letter:
    """Write to one person about an obligation that is due in ``days_left`` days, overdue if negative.

    The technician is led to the form that settles it, the officer to the case; a customer's contact gets no link.
    """
    appliance = obligation.appliance
    kind = kind_in_words(obligation.kind)
    context = {
        "obligation": obligation,
        "appliance": appliance,
        "site": appliance.site,
        "recipient": recipient,
        "kind": kind,
        "owed": owed_in_words(obligation.kind),
        "met_by": met_by_in_words(obligation.kind),
        "rule": rule_in_words(obligation.rule),
        "when": due_in_words(days_left),
        "firm_name": settings.FIRM_NAME,
        "file_url": _address("event-add", appliance.pk) + f"?settles={obligation.kind}",
        "obligation_url": _address("obligation-detail", obligation.pk),
    }
    where = f"{appliance.name}, {appliance.site.name}, {appliance.site.customer.name}"
    subject = f"{kind} {due_in_words(days_left)}: {where}"
    return Letter(
        subject=" ".join(subject.split())[:240],
        body=render_to_string("compliance/email/reminder.txt", context),
        body_html=render_to_string("compliance/email/reminder.html", context),
    )


def _address(name: str, pk: int) -> str:
    return settings.SITE_URL.rstrip("/") + reverse(name, args=[pk])
