"""Private calendar feeds (RFC 5545): kept by their person, read by whoever has the address."""

from compliance.services.calendar_feeds.addresses import calendar_feed_key, calendar_feed_path
from compliance.services.calendar_feeds.keeping import (
    calendar_feed_renew,
    calendar_feed_switch_off,
    calendar_feed_switch_on,
)
from compliance.services.calendar_feeds.reading import calendar_feed_read, seconds_to_wait

__all__ = [
    "calendar_feed_key",
    "calendar_feed_path",
    "calendar_feed_read",
    "calendar_feed_renew",
    "calendar_feed_switch_off",
    "calendar_feed_switch_on",
    "seconds_to_wait",
]
