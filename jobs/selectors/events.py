"""Service events as they stand now or stood at an instant, in the order that the law counts them."""

import datetime

from django.db.models import BigIntegerField, Q, QuerySet
from django.db.models.functions import Coalesce

from jobs.models import Appliance, ServiceEvent
from jobs.selectors.amendments import record_line, records_standing

# A record that no amendment has taken the place of; for rows of an event, prefixed with ``event__``.
STANDING = Q(superseded_by=None, is_void=False)
OF_STANDING_EVENT = Q(event__superseded_by=None, event__is_void=False)

# By the day at the site; within a day as first filed, an amendment in its original's place.
LEGAL_ORDER = ("happened_on", Coalesce("original", "id", output_field=BigIntegerField()))


def current_events(appliance: Appliance, known_at: datetime.datetime | None = None) -> QuerySet[ServiceEvent]:
    """List the appliance's events that stand: neither superseded nor void.

    Args:
        appliance: the one they were filed on.
        known_at: as the records stood at this instant; now unless given.

    Returns:
        In legal order.
    """
    return events_standing(known_at).filter(appliance=appliance).order_by(*LEGAL_ORDER)


def events_standing(known_at: datetime.datetime | None = None) -> QuerySet[ServiceEvent]:
    """List the events of all appliances that are neither superseded nor void, now or at an instant, in no order."""
    return records_standing(ServiceEvent, known_at)


def event_line(event: ServiceEvent) -> QuerySet[ServiceEvent]:
    """List an event's whole line: the first record and its amendments, oldest first."""
    return record_line(event)
