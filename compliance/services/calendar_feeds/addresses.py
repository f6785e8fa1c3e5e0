"""The addresses of calendar feeds: a random key with its signature, which nobody guesses."""

from django.core.signing import Signer
from django.urls import reverse

from compliance.models import CalendarFeed

SALT = "compliance.calendar_feeds"


def calendar_feed_path(feed: CalendarFeed) -> str:
    """The path at which a feed is read."""
    return reverse("calendar-feed", args=[_signer().sign(feed.key)])


def calendar_feed_key(token: str) -> str:
    """The key that an address names; one that isn't ours costs no query.

    Raises:
        BadSignature: the address isn't one of ours.
    """
    return _signer().unsign(token)


def _signer() -> Signer:
    return Signer(salt=SALT, sep=".")
