"""Private calendar feeds: a person's own, the one behind an address, and what is in it."""

import datetime

from compliance.models import CalendarFeed
from compliance.selectors.expiring import expiring_to
from compliance.selectors.owed import Owed, owed
from compliance.selectors.reminders import obligations_reminded_to
from portal.accounts.models import User

#: Who may open the pages that reminders are on may have them in a calendar.
MAY_READ = "compliance.view_obligation"


def calendar_feed_of(user: User) -> CalendarFeed | None:
    """A person's feed; None while it is switched off."""
    return CalendarFeed.objects.filter(user=user).first()


def readable_calendar_feed(key: str) -> CalendarFeed | None:
    """The feed of a key, with its person; None where there is none, or its person may open no page at present."""
    feed = CalendarFeed.objects.select_related("user").filter(key=key, user__is_active=True).first()
    if feed is None or feed.user.has_one_time_password or not feed.user.has_perm(MAY_READ):
        return None
    return feed


def calendar_items(user: User, now: datetime.datetime) -> list[Owed]:
    """All that a person is reminded of, owed or running out, with or without a reminder by now, by its date."""
    obligations = obligations_reminded_to(user).order_by("pk")
    items = [*(owed(row, now) for row in obligations), *expiring_to(user, now)]
    return sorted(items, key=lambda item: item.due_on)


def calendar_count(user: User, now: datetime.datetime) -> int:
    """How many things a person's calendar holds."""
    return obligations_reminded_to(user).count() + len(expiring_to(user, now))
