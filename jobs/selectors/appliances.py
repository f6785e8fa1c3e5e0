"""Appliances with their sites and customers, and the charge that was in force on a day."""

import datetime
from dataclasses import dataclass

from django.db.models import BigIntegerField, Max, Q, QuerySet
from django.db.models.functions import Coalesce

from jobs.models import Appliance, ServiceEvent, Statement, StatementKind
from jobs.selectors.events import OF_STANDING_EVENT


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
        kind__in=(StatementKind.FULL_CHARGE_CHANGE, StatementKind.RETROFITTED),
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


def appliance_list(*, search: str = "") -> QuerySet[Appliance]:
    """List appliances with site, customer and ``last_event_on``, the day of the newest event that stands.

    Args:
        search: part of a name, serial number, refrigerant, site, city or customer; all unless given.
    """
    standing = Q(service_events__superseded_by=None, service_events__is_void=False)
    appliances = Appliance.objects.select_related("site__customer", "technician").annotate(
        last_event_on=Max("service_events__happened_on", filter=standing)
    )
    if search := search.strip():
        appliances = appliances.filter(
            Q(name__icontains=search)
            | Q(serial_number__icontains=search)
            | Q(refrigerant__icontains=search)
            | Q(site__name__icontains=search)
            | Q(site__city__icontains=search)
            | Q(site__customer__name__icontains=search)
        )
    return appliances.order_by("site__customer__name", "site__name", "name")
