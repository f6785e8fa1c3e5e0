"""Appliances with their sites and customers, and the charge that was in force on a day."""

import datetime
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from django.db.models import BigIntegerField, CharField, F, Max, OuterRef, Q, QuerySet, Subquery
from django.db.models.fields.json import KeyTextTransform
from django.db.models.functions import Cast, Coalesce
from django.db.models.lookups import IContains

from jobs.models import Appliance, ServiceEvent, Statement, StatementKind
from jobs.selectors.events import OF_STANDING_EVENT

# What changes an appliance's charge after its registration.
CHARGE_STATEMENTS = (StatementKind.FULL_CHARGE_CHANGE, StatementKind.RETROFITTED)

SEARCHED = ("name", "serial_number", "site__name", "site__city", "site__customer__name")


@dataclass(frozen=True)
class Charge:
    """The refrigerant and the full charge of an appliance on one day."""

    refrigerant: str
    full_charge_mg: int


def charge_in_force(
    appliance: Appliance, on: datetime.date, *, without: ServiceEvent | None = None
) -> Charge:
    """The appliance's charge on a day: as registered, unless a record of that day or before changed it.

    Args:
        appliance: as registered.
        on: the day at the site.
        without: an event that is being amended, and so doesn't count.
    """
    statements = Statement.objects.filter(
        OF_STANDING_EVENT,
        event__appliance=appliance,
        event__happened_on__lte=on,
        kind__in=CHARGE_STATEMENTS,
    )
    if without is not None:
        statements = statements.exclude(event=without)
    charge = Charge(appliance.refrigerant, appliance.full_charge_mg)
    for statement in statements.order_by(
        "event__happened_on", Coalesce("event__original", "event", output_field=BigIntegerField()), "pk"
    ):
        refrigerant = statement.details.get("refrigerant", charge.refrigerant)
        charge = Charge(refrigerant, statement.details["full_charge_mg"])
    return charge


def refrigerant_now(path: str = "") -> Coalesce:
    """An expression for the refrigerant that an appliance holds today: of its newest retrofit, or as registered.

    Args:
        path: the way from the rows to their appliance, such as ``appliance__``; empty for appliances themselves.
    """
    newest = _newest_stated(path, "refrigerant", (StatementKind.RETROFITTED,))
    return Coalesce(newest, F(f"{path}refrigerant"), output_field=CharField())


def full_charge_now_mg(path: str = "") -> Coalesce:
    """An expression for the full charge of an appliance today: as last stated, or as registered.

    Args:
        path: as for :func:`refrigerant_now`.
    """
    newest = Cast(_newest_stated(path, "full_charge_mg", CHARGE_STATEMENTS), BigIntegerField())
    return Coalesce(newest, F(f"{path}full_charge_mg"))


def _newest_stated(path: str, detail: str, kinds: Iterable[StatementKind]) -> Subquery:
    filed = Coalesce("event__original", "event", output_field=BigIntegerField())
    statements = Statement.objects.filter(
        OF_STANDING_EVENT, kind__in=kinds, event__appliance=OuterRef(f"{path}pk")
    ).order_by("-event__happened_on", filed.desc(), "-pk")
    return Subquery(statements.values_list(KeyTextTransform(detail, "details"))[:1])


def appliance_matches(text: str, path: str = "", also: Callable[[str], Q] | None = None) -> Q:
    """Match rows whose appliance each word tells of: part of its name, serial number, refrigerant, site or customer.

    The refrigerant is the one that it holds today.

    Args:
        text: words; none match everything.
        path: the way from the rows to their appliance, such as ``appliance__``; empty for appliances themselves.
        also: what else of the rows a word may match.
    """
    condition = Q()
    for word in text.split():
        names = Q(*((f"{path}{name}__icontains", word) for name in SEARCHED), _connector=Q.OR)
        names |= Q(IContains(refrigerant_now(path), word))
        condition &= names | also(word) if also else names
    return condition


def appliance_list(*, search: str = "") -> QuerySet[Appliance]:
    """List appliances with site and customer, refrigerant and full charge of today, and the newest visit's day.

    These are ``refrigerant_now``, ``full_charge_now_mg`` and ``last_event_on``.

    Args:
        search: words, as ``appliance_matches`` takes them; all unless given.
    """
    standing = Q(service_events__superseded_by=None, service_events__is_void=False)
    appliances = Appliance.objects.select_related("site__customer", "technician").annotate(
        refrigerant_now=refrigerant_now(),
        full_charge_now_mg=full_charge_now_mg(),
        last_event_on=Max("service_events__happened_on", filter=standing),
    )
    return appliances.filter(appliance_matches(search)).order_by("site__customer__name", "site__name", "name")
