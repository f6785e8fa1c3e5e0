"""Reads a calendar feed out, notes when, and holds back who reads it far too often."""

import dataclasses
import datetime
import hashlib
import json
from dataclasses import dataclass

from django.conf import settings
from django.core.cache import cache
from django.db.models import Q

from compliance.models import CalendarEntry, CalendarFeed
from compliance.selectors.calendar_feeds import calendar_items
from compliance.selectors.owed import Owed
from compliance.services.calendar_feeds.entries import calendar_entries_follow
from compliance.services.calendar_feeds.writing import EDITION, FeedHead, calendar_text

#: Ten devices may each look every five minutes.
READS_PER_HOUR = 120
_HOUR_S = 3600
_MINUTE = datetime.timedelta(minutes=1)


@dataclass(frozen=True)
class FeedReading:
    """What a feed says at an instant; it is written out when it is asked for, which takes most of the time."""

    head: FeedHead
    items: list[Owed]
    entries: dict[str, CalendarEntry]

    @property
    def version(self) -> str:
        """The same as long as the text is: the SHA-256 of all that it is made of."""
        shown = [
            (row.owed_key, row.content_sha256, row.revision, row.changed_at)
            for item in self.items
            for row in [self.entries[item.key]]
        ]
        parts = [EDITION, dataclasses.astuple(self.head), shown]
        return hashlib.sha256(json.dumps(parts, default=str).encode()).hexdigest()

    def text(self) -> bytes:
        """The iCalendar object."""
        return calendar_text(self.head, self.items, self.entries)


def calendar_feed_read(*, feed: CalendarFeed, read_at: datetime.datetime) -> FeedReading:
    """Gather what a feed's person is reminded of, and note that it was read.

    Args:
        feed: with its person.
        read_at: the instant, which decides on the dates at the sites.
    """
    user = feed.user
    items = calendar_items(user, read_at)
    permissions = {item.form_permission for item in items}
    head = FeedHead(
        firm_name=settings.FIRM_NAME,
        user_id=user.pk,
        person=user.full_name,
        site_url=settings.SITE_URL.rstrip("/"),
        may_open=tuple(permission for permission in sorted(permissions) if user.has_perm(permission)),
    )
    entries = calendar_entries_follow(items, now=read_at)
    not_just_now = Q(last_read_at=None) | Q(last_read_at__lte=read_at - _MINUTE) | Q(last_read_at__gt=read_at)
    CalendarFeed.objects.filter(not_just_now, pk=feed.pk, key=feed.key).update(last_read_at=read_at)
    return FeedReading(head, items, entries)


def seconds_to_wait(*, feed: CalendarFeed, read_at: datetime.datetime) -> int:
    """Count a reading of a feed, and say for how long it has to wait; 0 if it hasn't."""
    hour, second = divmod(int(read_at.timestamp()), _HOUR_S)
    name = f"calendar-feed:{feed.key}:{hour}"
    try:
        cache.add(name, 0, timeout=2 * _HOUR_S)
        count = cache.incr(name)
    except Exception:  # noqa: BLE001 -- the cache made room in between, or Redis is away: nobody waits for that
        return 0
    return _HOUR_S - second if count > READS_PER_HOUR else 0
