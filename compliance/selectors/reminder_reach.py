"""Whom reminders reach, and what is owed without anybody being reminded of it."""

from collections import Counter
from dataclasses import dataclass

from django.db.models import Count, Q, QuerySet

from compliance.models import Obligation
from compliance.selectors.board import NOT_GIVEN
from compliance.selectors.milestones import NEVER_REMINDED
from compliance.selectors.reminder_preferences import hours_by_user, rhythm_in_words
from compliance.selectors.reminders import (
    PENDING,
    Recipient,
    compliance_officers,
    recipients,
    why_not_reminded,
)
from compliance.selectors.sending_hours import SendingHours, contact_hours
from jobs.models import Technician
from portal.accounts.models import User


@dataclass(frozen=True)
class ReachedPerson:
    """Somebody who is reminded, and how, in words."""

    person: Recipient
    ways: str


@dataclass(frozen=True)
class ObligationReach:
    """Who is reminded of one obligation; ``gap`` is why whoever has it isn't, empty if they are."""

    people: list[ReachedPerson]
    gap: str


@dataclass(frozen=True)
class UnreachedTechnician:
    """A technician whom no reminder reaches, why not, and how many pending obligations are theirs."""

    technician: Technician
    because: str
    pending_count: int


@dataclass(frozen=True)
class ReminderReach:
    """Who is reminded in the firm as a whole; ``nobody_count`` obligations are pending and reminded to nobody."""

    officers: list[User]
    unreached: list[UnreachedTechnician]
    nobody_count: int


def obligation_reach(obligation: Obligation) -> ObligationReach | None:
    """Who is reminded of an obligation, at whatever milestone comes next; None where nobody is to be."""
    if obligation.status not in PENDING or obligation.kind in NEVER_REMINDED:
        return None
    given = obligation.assignment
    technician = (given and given.technician) or obligation.appliance.technician
    if given and given.user:
        gap = "" if given.user.is_active else f"{given.user} has a sign-in that is closed."
    elif technician is None:
        gap = "The appliance has no technician named."
    else:
        because = why_not_reminded(technician)
        gap = f"{technician} {because}." if because else ""
    people = recipients(obligation, compliance_officers())
    hours = hours_by_user(person.user.pk for person in people if person.user)
    contact = contact_hours(obligation.appliance.site.time_zone)
    reached = [ReachedPerson(person, _ways(person, hours, contact)) for person in people]
    return ObligationReach(reached, gap)


def _ways(person: Recipient, hours: dict[int, SendingHours], contact: SendingHours) -> str:
    if person.user is None:
        return rhythm_in_words(contact)
    chosen = hours.get(person.user.pk)
    return f"in the portal, {rhythm_in_words(chosen) if chosen else 'by e-mail'}"


def reminder_reach() -> ReminderReach:
    """Look over everything that is pending and reminded of, however far its due date is."""
    officers = compliance_officers()
    pending = Obligation.objects.filter(status__in=PENDING).exclude(kind__in=NEVER_REMINDED)
    reached = (
        Q(appliance__technician__is_active=True, appliance__technician__user__is_active=True)
        | Q(assignment__technician__is_active=True, assignment__technician__user__is_active=True)
        | Q(assignment__user__is_active=True)
        | Q(~Q(appliance__site__customer__email=""), appliance__site__customer__is_reminded=True)
    )
    alone = pending.exclude(pk__in=pending.filter(reached).values("pk"))
    return ReminderReach(officers, _unreached(), 0 if officers else alone.count())


def _unreached() -> list[UnreachedTechnician]:
    pending = Obligation.objects.filter(status__in=PENDING).exclude(kind__in=NEVER_REMINDED).order_by()
    counts = Counter(dict(_count(pending.filter(NOT_GIVEN), "appliance__technician")))
    counts.update(dict(_count(pending, "assignment__technician")))
    technicians = Technician.objects.select_related("user").filter(pk__in=counts)
    return [
        UnreachedTechnician(technician, because, counts[technician.pk])
        for technician in technicians
        if (because := why_not_reminded(technician))
    ]


def _count(obligations: QuerySet[Obligation], technician: str) -> QuerySet[Obligation, tuple[int, int]]:
    """How many obligations each technician has; ``technician`` is the path to them."""
    named = obligations.exclude(**{technician: None})
    return named.values_list(technician).annotate(number=Count("pk"))
