"""How the reminders behind the link of an e-mail stand."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from compliance.models import Reminder
from compliance.selectors.acknowledgements import acknowledged_at
from compliance.selectors.reminders import still_owed


@dataclass(frozen=True)
class LinkItem:
    """One reminder behind the link of an e-mail: whether it is owed still, and when it was acknowledged."""

    reminder: Reminder
    is_owed: bool
    acknowledged_at: datetime.datetime | None


def link_items(reminders: Iterable[Reminder]) -> list[LinkItem]:
    """How the reminders behind a link stand."""
    rows = Reminder.objects.filter(pk__in=[row.pk for row in reminders])
    rows = rows.annotate(acknowledged_at=acknowledged_at(), is_owed=still_owed()).order_by("due_on", "pk")
    return [LinkItem(row, row.is_owed, row.acknowledged_at) for row in rows]
