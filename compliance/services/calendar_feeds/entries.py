"""Keeps count of how often what calendars are told of has moved, so that a copy knows which of two is newer."""

import datetime
import hashlib
import json
from collections.abc import Iterable

from django.db import transaction

from compliance.models import CalendarEntry
from compliance.selectors.owed import Owed

_SECOND = datetime.timedelta(seconds=1)


@transaction.atomic
def calendar_entries_follow(items: Iterable[Owed], *, now: datetime.datetime) -> dict[str, CalendarEntry]:
    """Note what calendars are told of each thing; the queries are as many however many things there are.

    Args:
        items: what is owed or runs out.
        now: the instant at which a difference counts as changed.

    Returns:
        The entries by the keys of those.
    """
    wanted = {item.key: item for item in items}
    entries = _entries(wanted)
    moved = [entry for key, entry in entries.items() if entry.content_sha256 != _content_sha256(wanted[key])]
    for entry in moved:
        item = wanted[entry.owed_key]
        entry.revision += entry.due_on != item.due_on
        entry.due_on, entry.content_sha256 = item.due_on, _content_sha256(item)
        # Newer than what was told before, also by a clock that ran ahead.
        entry.changed_at = max(now, entry.changed_at + _SECOND)
    if moved:
        names = ["due_on", "revision", "content_sha256", "changed_at"]
        CalendarEntry.objects.bulk_update(moved, names)
    new = [item for key, item in wanted.items() if key not in entries]
    if not new:
        return entries
    # Another reader may note the same at this moment; whoever comes second adds nothing.
    CalendarEntry.objects.bulk_create([_first(item, now) for item in new], ignore_conflicts=True)
    return _entries(wanted)


def _entries(wanted: Iterable[str]) -> dict[str, CalendarEntry]:
    return CalendarEntry.objects.in_bulk(list(wanted), field_name="owed_key")


def _first(item: Owed, now: datetime.datetime) -> CalendarEntry:
    return CalendarEntry(
        owed_key=item.key, due_on=item.due_on, content_sha256=_content_sha256(item), changed_at=now
    )


def _content_sha256(item: Owed) -> str:
    """Of what a calendar shows, to whomever; the days that are left aren't shown."""
    shown = (
        *(
            item.name,
            item.to_do,
            item.due_on,
            item.is_overdue,
            item.place,
            item.location,
            item.facts,
            item.because,
        ),
        *(item.source, item.met_by, item.page, item.form, item.form_name, item.is_confirmed),
    )
    return hashlib.sha256(json.dumps(shown, default=str).encode()).hexdigest()
