"""Registers customers and their sites, and changes them with history."""

from typing import Any

from django.core.exceptions import NON_FIELD_ERRORS
from django.db import transaction
from django.utils import timezone

from jobs.models import Customer, Site
from jobs.physics.pressures import HIGHEST_ALTITUDE_M
from jobs.selectors.method_changes import is_method_fixed
from jobs.services.refusals import Refusals, change_fields, save_register
from portal.accounts.models import User

METHOD_RULE = "40 CFR 84.106(b)(3)"
METHOD_IS_FIXED = (
    "Expected the method by which leak rates were calculated so far. A change is filed as a record of its own, on the "
    "site’s page, and only after the facility was acquired; the compliance officer corrects a mistaken entry there."
)
CUSTOMER_FIELDS = frozenset(
    {
        "name",
        "contact_name",
        "email",
        "phone",
        "address",
        "is_reminded",
        "reminders_agreed_on",
        "is_sent_records",
        "note",
    }
)
SITE_FIELDS = frozenset(
    {
        "name",
        "street",
        "city",
        "region",
        "postal_code",
        "country",
        "time_zone",
        "jurisdiction",
        "leak_rate_method",
        "altitude_m",
    }
)


@transaction.atomic
def customer_register(*, by: User, name: str, **fields: Any) -> Customer:
    """Register a customer.

    Args:
        by: who registers.
        name: the firm's or person's name, unique.
        fields: contact_name, email, phone, address, is_reminded, reminders_agreed_on, is_sent_records, note.

    Raises:
        SubmissionRefused: a field is not valid, the name is taken, or the contact is to be reminded without an address
            or a day on which that was agreed.
    """
    customer = Customer()
    change_fields(customer, {"name": name, **fields}, CUSTOMER_FIELDS)
    _save_customer(customer, by)
    return customer


@transaction.atomic
def customer_change(*, by: User, customer: Customer, **fields: Any) -> Customer:
    """Change a customer's details; the former ones stay in its history.

    Raises:
        SubmissionRefused: as ``customer_register``.
    """
    change_fields(customer, fields, CUSTOMER_FIELDS)
    _save_customer(customer, by)
    return customer


@transaction.atomic
def site_register(*, by: User, customer: Customer, name: str, street: str, city: str, **fields: Any) -> Site:
    """Register a site of a customer.

    Args:
        by: who registers.
        customer: its owner or operator.
        name: unique among the customer's sites.
        street: first line of the address.
        city: the town.
        fields: region, postal_code, country, time_zone, jurisdiction, leak_rate_method, altitude_m.

    Raises:
        SubmissionRefused: a field is not valid, it lies higher than any place, or the customer has a site of that name.
    """
    site = Site(customer=customer)
    change_fields(site, {"name": name, "street": street, "city": city, **fields}, SITE_FIELDS)
    _save_site(site, by)
    return site


@transaction.atomic
def site_change(*, by: User, site: Site, **fields: Any) -> Site:
    """Change a site's details; the former ones stay in its history.

    Raises:
        SubmissionRefused: as ``site_register``, or the leak rate method is another one than leak rates may have been
            calculated by.
    """
    former = Site.objects.select_for_update(no_key=True).get(pk=site.pk)
    change_fields(site, fields, SITE_FIELDS)
    refusals = Refusals()
    if site.leak_rate_method != former.leak_rate_method and is_method_fixed(former):
        refusals.add("leak_rate_method", site.get_leak_rate_method_display(), METHOD_IS_FIXED, METHOD_RULE)
    _save_site(site, by, refusals)
    return site


def _save_customer(customer: Customer, by: User) -> None:
    refusals = Refusals()
    if not customer.is_reminded:
        # An agreement that was given up holds no longer; the history still tells of it.
        customer.reminders_agreed_on = None
    elif customer.reminders_agreed_on is None:
        refusals.add(
            "reminders_agreed_on", None, "Expected the day on which the customer agreed to reminders."
        )
    if customer.is_reminded and not customer.email:
        refusals.add("email", customer.email, "Expected an e-mail address to send the reminders to.")
    refusals.check_day("reminders_agreed_on", customer.reminders_agreed_on, latest=timezone.localdate())
    save_register(customer, by=by, refusals=refusals)


def _save_site(site: Site, by: User, refusals: Refusals | None = None) -> None:
    refusals = refusals or Refusals()
    if site.altitude_m is not None and not 0 <= site.altitude_m <= HIGHEST_ALTITUDE_M:
        refusals.add(
            "altitude_m", site.altitude_m, f"Expected an altitude from 0 to {HIGHEST_ALTITUDE_M:.0f} m."
        )
    save_register(site, by=by, names={NON_FIELD_ERRORS: "name"}, refusals=refusals)
