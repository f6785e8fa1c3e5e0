"""By which method the leak rates of a facility are calculated, and the records that changed it or put it right."""

import datetime

from django.db.models import QuerySet

from jobs.models import (
    Jurisdiction,
    LeakRateMethod,
    LeakRateMethodChange,
    LeakRateMethodCorrection,
    Site,
    Transfer,
)
from jobs.selectors.amendments import records_standing

# Where a leak rate is calculated at all.
UNDER_US_LAW = (Jurisdiction.US_FEDERAL, Jurisdiction.US_CALIFORNIA)


def method_changes_standing(known_at: datetime.datetime | None = None) -> QuerySet[LeakRateMethodChange]:
    """Changes of all sites that are neither superseded nor void, now or at an instant, in order of their days."""
    return records_standing(LeakRateMethodChange, known_at).order_by("happened_on", "pk")


def method_corrections_standing(
    known_at: datetime.datetime | None = None,
) -> QuerySet[LeakRateMethodCorrection]:
    """Corrections of the register, of all sites, that are neither superseded nor void, now or at an instant."""
    return records_standing(LeakRateMethodCorrection, known_at).order_by("happened_on", "pk")


def method_on(
    site: Site, day: datetime.date, *, without: LeakRateMethodChange | None = None
) -> LeakRateMethod:
    """The method in force on a day.

    Args:
        site: the facility.
        day: the day at the site.
        without: a change that is being amended, and so doesn't count.
    """
    changes = method_changes_standing().filter(site=site, happened_on__lte=day)
    if without:
        changes = changes.exclude(pk=without.pk)
    newest = changes.last()
    return LeakRateMethod(newest.method if newest else site.leak_rate_method)


def is_method_fixed(site: Site) -> bool:
    """Whether a leak rate may have been calculated by the site's method, so that a record alone changes it."""
    if site.pk is None or site.jurisdiction not in UNDER_US_LAW:
        return False
    added = Transfer.objects.filter(to_holder__appliance__site=site, event__isnull=False)
    filed = (LeakRateMethodChange, LeakRateMethodCorrection)
    return added.exists() or any(model.objects.filter(site=site).exists() for model in filed)


def method_in_words(site: Site, changes: QuerySet[LeakRateMethodChange]) -> str:
    """The method of a site and its changes, such as “Annualizing method; rolling average method from 2026-07-01”."""
    words = [site.get_leak_rate_method_display()]
    words += [f"{change.get_method_display().lower()} from {change.happened_on}" for change in changes]
    return "; ".join(words)
