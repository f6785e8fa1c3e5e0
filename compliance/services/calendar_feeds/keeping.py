"""A person's own calendar feed: switched on, given another address, switched off."""

import datetime
import secrets

from compliance.models import CalendarFeed
from portal.accounts.models import User

#: 192 bits, in 32 characters of an address.
KEY_BYTES = 24


def calendar_feed_switch_on(*, by: User, made_at: datetime.datetime) -> CalendarFeed:
    """Give a person a feed; the one they have keeps its address."""
    feed, _ = CalendarFeed.objects.get_or_create(user=by, defaults={"key": _new_key(), "made_at": made_at})
    return feed


def calendar_feed_renew(*, by: User, made_at: datetime.datetime) -> CalendarFeed:
    """Give a person's feed another address; the old one ends at once."""
    columns = {"key": _new_key(), "made_at": made_at, "last_read_at": None}
    feed, _ = CalendarFeed.objects.update_or_create(user=by, defaults=columns)
    return feed


def calendar_feed_switch_off(*, by: User) -> bool:
    """End a person's feed and its address.

    Returns:
        Whether there was one.
    """
    return bool(CalendarFeed.objects.filter(user=by).delete()[0])


def _new_key() -> str:
    return secrets.token_urlsafe(KEY_BYTES)
