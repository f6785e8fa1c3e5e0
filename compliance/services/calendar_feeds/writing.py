"""Writes what is owed or runs out as an iCalendar object (RFC 5545, with RFC 7986's properties); knows no database.

The choices, each with its reason:

- No METHOD: without one, the object is a snapshot of a calendar and schedules nothing (RFC 5545, 3.7.2). What is
  settled isn't in the next snapshot, and so leaves the calendar. STATUS:CANCELLED would tell of something called off.
- UID is a UUID made of the key of the obligation or of what runs out, so that it stays the same and tells nothing
  (RFC 7986, 5.3). What is renewed has another key: its event goes, and another comes on the new last day.
- SEQUENCE grows when the due date moves, LAST-MODIFIED and DTSTAMP with every change (RFC 5545, 3.8.7): a program
  that keeps its own copy sees which is newer.
- No VALARM: when to be reminded is the plan's and the person's to choose, quiet hours included, and what is
  acknowledged would ring on. A program's own alerts go by its own settings.
- TRANSP:TRANSPARENT, since a due date takes nobody's time (3.8.2.7); CLASS:PRIVATE, for a calendar that others see
  too (3.8.1.3).
"""

import datetime
import hashlib
import re
import uuid
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path

import icalendar
from icalendar import Calendar, Component, Event, Timezone, TimezoneStandard, vText

from compliance.models import CalendarEntry
from compliance.selectors.owed import Owed

PRODUCT = "-//Refrigerant compliance portal//Calendar feed//EN"
#: Another one for each change of how calendars are written.
EDITION = hashlib.sha256(Path(__file__).read_bytes() + icalendar.__version__.encode()).hexdigest()
#: How often a program is asked to look again; it may take its own time.
REFRESH_EVERY = datetime.timedelta(hours=1)
CAUTION = "It informs; it gives no legal advice. Local codes and licensed practice govern the work."

# TEXT holds no control characters but tabs, and line breaks as \n (RFC 5545, 3.3.11). To some programs lines end at
# U+2028 and the like too.
_BREAKS = re.compile("\r\n|[\n\r\v\f\x1c\x1d\x1e\x85\u2028\u2029]")
_CONTROLS = re.compile("[\x00-\x08\x0e-\x1b\x1f\x7f-\x9f]")
_DAY = datetime.timedelta(days=1)


class Text(vText):
    """TEXT as RFC 5545, 3.3.11 escapes it; the library makes a line break of a backslash before an N."""

    def to_ical(self) -> bytes:
        """The value, escaped."""
        escaped = self.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")
        return escaped.encode()


@dataclass(frozen=True)
class FeedHead:
    """What a feed says of itself.

    Attributes:
        firm_name: the firm that answers for what is in it.
        user_id: whose feed it is,
        person: and their name.
        site_url: to which paths are appended, without a slash at its end.
        may_open: the permissions of the forms to which the person is led.
    """

    firm_name: str
    user_id: int
    person: str
    site_url: str
    may_open: tuple[str, ...]


def calendar_text(head: FeedHead, items: Collection[Owed], entries: Mapping[str, CalendarEntry]) -> bytes:
    """Write a feed.

    Args:
        head: what it says of itself.
        items: what is owed or runs out.
        entries: what calendars are told of each, by key.

    Returns:
        The object as octets, with folded lines that end in CRLF (RFC 5545, 3.1).
    """
    uid = _uid(head.site_url, f"calendar:{head.user_id}")
    calendar = Calendar.new(prodid=PRODUCT, uid=uid, refresh_interval=REFRESH_EVERY)
    # The library leaves out a parameter that is required (RFC 7986, 5.7).
    calendar["REFRESH-INTERVAL"].params["VALUE"] = "DURATION"
    calendar.calscale = "GREGORIAN"
    # As RFC 7986 names them, and as programs do that are older than it.
    calendar["NAME"] = calendar["X-WR-CALNAME"] = Text(name_of(head))
    calendar["DESCRIPTION"] = calendar["X-WR-CALDESC"] = Text(
        _one_line(f"What {head.person} is reminded of. {CAUTION}")
    )
    for item in items:
        calendar.add_component(_event(head, item, entries[item.key]))
    if not items:
        calendar.add_component(_placeholder())
    return calendar.to_ical()


def event_uid(site_url: str, key: str) -> str:
    """What names the event of a key, here and in no other portal."""
    return _uid(site_url, f"obligation:{key}")


def name_of(head: FeedHead) -> str:
    """What a program calls the calendar."""
    return _one_line(f"Refrigerant obligations, {head.firm_name}")


def summary_of(item: Owed) -> str:
    """An event's title, such as “Leak repair: Chiller 1, North store, Larkspur Grocers”."""
    late = f"{item.late_label}: " if item.is_overdue else ""
    return _one_line(f"{late}{item.name}: {item.place}")


def description_of(head: FeedHead, item: Owed) -> str:
    """What an event says: what is to be done, until when, why, what settles it, and where."""
    facts = "\n".join(f"{label}: {text}" for label, text in item.facts)
    unconfirmed = "This rests on an unconfirmed source; check it before you rely on it."
    form = f"{item.form_name}: {head.site_url}{item.form}"
    parts = (
        item.to_do,
        f"{facts}\n{item.due_label}: {item.due_on} {item.counted_where}".rstrip(),
        "" if item.is_confirmed else unconfirmed,
        f"Why\n{item.because}\n{item.source}",
        f"What settles it\n{item.met_by}",
        form if item.form_permission in head.may_open else "",
        f"{item.page_name}: {head.site_url}{item.page}",
        CAUTION,
    )
    return _text("\n\n".join(part for part in parts if part))


def _event(head: FeedHead, item: Owed, entry: CalendarEntry) -> Event:
    event = Event.new(
        uid=event_uid(head.site_url, item.key),
        stamp=entry.changed_at,
        last_modified=entry.changed_at,
        sequence=entry.revision,
        start=item.due_on,
        # The day on which it is over (RFC 5545, 3.6.1).
        end=item.due_on + _DAY,
        categories=[item.name, item.rule],
        url=f"{head.site_url}{item.page}",
        classification="PRIVATE",  # type: ignore[arg-type]  # one of its enumeration's values
        transparency="TRANSPARENT",  # type: ignore[arg-type]  # the same
    )
    event["SUMMARY"] = Text(summary_of(item))
    event["DESCRIPTION"] = Text(description_of(head, item))
    if location := _one_line(item.location):
        event["LOCATION"] = Text(location)
    return event


def _placeholder() -> Component:
    """What no program shows: an object has at least one component (RFC 5545, 3.6), also when nothing is owed."""
    zone, always = Timezone(), TimezoneStandard()
    zone.add("tzid", "Etc/UTC")
    always.add("dtstart", datetime.datetime(1970, 1, 1))  # noqa: DTZ001 -- local time, as RFC 5545, 3.6.5 wants it
    always.add("tzoffsetfrom", datetime.timedelta())
    always.add("tzoffsetto", datetime.timedelta())
    zone.add_component(always)
    return zone


def _uid(site_url: str, name: str) -> str:
    return str(uuid.uuid5(uuid.NAMESPACE_URL, f"{site_url}#{name}"))


def _one_line(text: str) -> str:
    return " ".join(_text(text).split())


def _text(text: str) -> str:
    return _CONTROLS.sub(" ", _BREAKS.sub("\n", text))
