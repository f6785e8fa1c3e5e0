"""By which method the leak rates of a facility are calculated, and the records that changed it."""

import datetime

from django.db.models import Exists, OuterRef, Q, QuerySet

from jobs.models import Jurisdiction, LeakRateMethod, LeakRateMethodChange, Site, Transfer

# Where a leak rate is calculated at all.
UNDER_US_LAW = (Jurisdiction.US_FEDERAL, Jurisdiction.US_CALIFORNIA)


def method_changes_standing(known_at: datetime.datetime | None = None) -> QuerySet[LeakRateMethodChange]:
    """Changes of all sites that are neither superseded nor void, now or at an instant, in order of their days."""
    changes = LeakRateMethodChange.objects.filter(is_void=False)
    amendments = LeakRateMethodChange.objects.filter(supersedes=OuterRef("pk"))
    if known_at is not None:
        changes = changes.filter(filed_at__lte=known_at)
        amendments = amendments.filter(filed_at__lte=known_at)
    return changes.filter(~Exists(amendments)).order_by("happened_on", "pk")


def method_change_line(change: LeakRateMethodChange) -> QuerySet[LeakRateMethodChange]:
    """A change's whole line: the first record and its amendments, oldest first."""
    first_id = change.original_id or change.pk
    return LeakRateMethodChange.objects.filter(Q(pk=first_id) | Q(original=first_id)).order_by("pk")


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
    return added.exists() or LeakRateMethodChange.objects.filter(site=site).exists()


def method_in_words(site: Site, changes: QuerySet[LeakRateMethodChange]) -> str:
    """The method of a site and its changes, such as “Annualizing method; rolling average method from 2026-07-01”."""
    words = [site.get_leak_rate_method_display()]
    words += [f"{change.get_method_display().lower()} from {change.happened_on}" for change in changes]
    return "; ".join(words)
