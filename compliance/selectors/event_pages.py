"""What the event pages list: appliances to file for, filed events, and what is due on an appliance."""

import datetime
import re
from dataclasses import dataclass

from django.db import models
from django.db.models import Case, F, IntegerField, Max, Prefetch, Q, QuerySet, When
from django.db.models.functions import Cast

from compliance.models import LeakRate, Obligation
from compliance.selectors.board import NOT_ON_THE_BOARD, standing
from compliance.selectors.reminders import PENDING
from jobs.models import Appliance, ServiceEvent, Technician, WeighLogReading
from jobs.selectors.appliances import appliance_matches, refrigerant_now
from jobs.selectors.events import STANDING

EVENT_NUMBER = re.compile(r"(?:SE-?)?0*(\d+)", re.IGNORECASE)


def obligations_due(now: datetime.datetime, appliance: Appliance | None = None) -> QuerySet[Obligation]:
    """What is still owed, of one appliance or of all, soonest first, each with ``stands`` as on the board."""
    due = Obligation.objects.filter(status__in=PENDING).exclude(kind__in=NOT_ON_THE_BOARD)
    due = due.filter(appliance=appliance) if appliance else due
    return standing(due, now).order_by(F("due_on").asc(nulls_last=True), "pk")


def appliances_to_file_for(
    now: datetime.datetime, *, search: str = "", technician: Technician | None = None
) -> QuerySet[Appliance]:
    """Appliances with ``refrigerant_now`` and ``due``, what is owed on each.

    The technician's latest visits come first, then those that the technician is responsible for.

    Args:
        now: the instant that tells what is past due.
        search: words, as ``appliance_matches`` takes them.
        technician: whose visits count; ``last_visit_on`` is empty where there were none.
    """
    by_technician = Q(service_events__technician=technician) if technician else Q(service_events__in=())
    appliances = (
        Appliance.objects.select_related("site__customer")
        .annotate(
            refrigerant_now=refrigerant_now(),
            last_visit_on=Max("service_events__happened_on", filter=by_technician),
        )
        .alias(is_own=Case(When(technician=technician or 0, then=0), default=1, output_field=IntegerField()))
    )
    owed = Prefetch("obligations", obligations_due(now), to_attr="due")
    return (
        appliances.filter(appliance_matches(search))
        .prefetch_related(owed)
        .order_by(
            F("last_visit_on").desc(nulls_last=True), "is_own", "site__customer__name", "site__name", "name"
        )
    )


@dataclass(frozen=True)
class EventFilter:
    """Which events to list; what is empty doesn't narrow."""

    search: str = ""
    technician: Technician | None = None
    work_kind: str = ""
    happened_from: datetime.date | None = None
    happened_to: datetime.date | None = None
    appliance: Appliance | None = None
    is_over_only: bool = False
    differs_from_log_only: bool = False
    has_replaced: bool = False


def event_list(wanted: EventFilter) -> QuerySet[ServiceEvent]:
    """Filed events, newest visit first, each with the leak rates that its additions gave.

    Records that an amendment has replaced, and voided ones, are left out unless asked for.
    """
    events = ServiceEvent.objects.select_related(
        "appliance__site__customer", "technician", "superseded_by"
    ).prefetch_related(Prefetch("leak_rates", LeakRate.objects.order_by("position")))
    if not wanted.has_replaced:
        events = events.filter(STANDING)
    if wanted.technician:
        events = events.filter(Q(technician=wanted.technician) | Q(supervisor=wanted.technician))
    if wanted.work_kind:
        # The kinds are a JSON list, which SQLite can't be asked about but as text.
        events = events.alias(kinds=Cast("work_kinds", models.TextField())).filter(
            kinds__contains=f'"{wanted.work_kind}"'
        )
    if wanted.happened_from:
        events = events.filter(happened_on__gte=wanted.happened_from)
    if wanted.happened_to:
        events = events.filter(happened_on__lte=wanted.happened_to)
    if wanted.appliance:
        events = events.filter(appliance=wanted.appliance)
    if wanted.is_over_only:
        events = events.filter(pk__in=LeakRate.objects.filter(exceeds=True).values("event"))
    if wanted.differs_from_log_only:
        events = events.filter(differs_from_log())
    return events.filter(appliance_matches(wanted.search, "appliance__", _tells_of)).order_by(
        "-happened_on", "-pk"
    )


def differs_from_log() -> Q:
    """Events with a transfer whose mass differs from its scale's log by more than weighing explains."""
    beyond = WeighLogReading.objects.filter(is_beyond_tolerance=True)
    return Q(pk__in=beyond.values("log__transfer__event"))


def differing_event_count() -> int:
    """How many events that stand have a mass that differs from its scale's log."""
    return ServiceEvent.objects.filter(STANDING, differs_from_log()).count()


def _tells_of(word: str) -> Q:
    """The word is part of who did what, or the number that people quote."""
    number = EVENT_NUMBER.fullmatch(word)
    return (
        Q(technician__full_name__icontains=word)
        | Q(contractor_name__icontains=word)
        | Q(work_done__icontains=word)
        | (Q(pk=int(number[1])) if number else Q(pk__in=()))
    )
