"""Reads feeds as a calendar program would: by their address, with a library that is not the one that writes them."""

import vobject
from django.test import Client
from vobject.base import Component

from compliance.services.calendar_feeds import calendar_feed_path, calendar_feed_switch_on
from portal.accounts.models import User
from tests.compliance.firm import REGISTERED_AT, day, noon

# The instant of the tests of what a feed says, and the portal's own address there.
NOW = noon(day("2026-03-10"))
SITE = "http://127.0.0.1:8000"


def address_of(user: User) -> str:
    """The path of a person's feed, which is switched on if it isn't."""
    return calendar_feed_path(calendar_feed_switch_on(by=user, made_at=REGISTERED_AT))


def parsed(text: bytes) -> Component:
    """The calendar, with all that its standard requires of it."""
    calendar = vobject.readOne(text.decode())
    calendar.validate(raiseException=True)
    return calendar


def read(user: User) -> Component:
    """A person's calendar, asked for by nobody who is signed in."""
    response = Client().get(address_of(user))
    assert response.status_code == 200
    return parsed(response.content)


def events(user: User) -> list[Component]:
    """The events of a person's calendar."""
    return read(user).contents.get("vevent", [])


def event(user: User, kind: str = "Leak repair") -> Component:
    """The only event of a kind, named in words."""
    (found,) = [row for row in events(user) if row.categories.value[0] == kind]
    return found
