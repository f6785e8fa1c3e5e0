"""Reads a calendar feed out, notes when, and holds back who reads it far too often."""

import datetime

from django.conf import settings
from django.core.cache import cache
from django.db.models import Q

from compliance.models import CalendarFeed
from compliance.selectors.calendar_feeds import calendar_items
from compliance.services.calendar_feeds.entries import calendar_entries_follow
from compliance.services.calendar_feeds.writing import FeedHead, calendar_text

#: Ten devices may each look every five minutes.
READS_PER_HOUR = 120
_HOUR_S = 3600
_MINUTE = datetime.timedelta(minutes=1)


def calendar_feed_read(*, feed: CalendarFeed, read_at: datetime.datetime) -> bytes:
    """Write what a feed's person is reminded of as an iCalendar object, and note that it was read.

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
        may_open={permission for permission in permissions if user.has_perm(permission)},
    )
    text = calendar_text(head, items, calendar_entries_follow(items, now=read_at))
    not_just_now = Q(last_read_at=None) | Q(last_read_at__lte=read_at - _MINUTE)
    CalendarFeed.objects.filter(not_just_now, pk=feed.pk, key=feed.key).update(last_read_at=read_at)
    return text


def seconds_to_wait(*, feed: CalendarFeed, read_at: datetime.datetime) -> int:
    """Count a reading of a feed, and say for how long it has to wait; 0 if it hasn't."""
    hour, second = divmod(int(read_at.timestamp()), _HOUR_S)
    name = f"calendar-feed:{feed.key}:{hour}"
    cache.add(name, 0, timeout=2 * _HOUR_S)
    try:
        count = cache.incr(name)
    except ValueError:
        # The cache made room in between.
        return 0
    return _HOUR_S - second if count > READS_PER_HOUR else 0
