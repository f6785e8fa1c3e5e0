"""Which stored assessments hold, and which may be others by now: a day went by, a register or the law changed."""

import datetime
from functools import reduce
from operator import or_

from django.db.models import Exists, F, OuterRef, Q, QuerySet

from compliance.rulebook.tables import load_tables
from compliance.rulebook.version import RULEBOOK_VERSION
from compliance.selectors.site_dates import SiteDates
from jobs.models import Appliance, CaseFiling, LeakRateMethodChange, ServiceEvent, Site

# A change of a register bears the time at which it was made, and shows when its transaction ends: within this time. So
# far apart, too, may the clocks of two machines be.
SHOWS_WITHIN = datetime.timedelta(minutes=1)


def stale_appliances(now: datetime.datetime) -> QuerySet[Appliance]:
    """Appliances whose stored assessment is missing or may be another one by now, by id.

    It is when the date at the site is past the day up to which the answer holds, when the rulebook or its tables have
    changed, and when somebody changed the appliance or its site in the registers, or filed a record, since. It is too
    when it was made later than now: by a clock that ran ahead, and what changed since isn't seen by its time.
    """
    dates = SiteDates(now)
    return (
        Appliance.objects.alias(site_today=dates.today("site__time_zone"))
        .filter(
            Q(assessment=None)
            | Q(assessment__holds_until__lt=F("site_today"))
            | Q(assessment__as_of__gt=F("site_today"))
            | Q(assessment__assessed_at__gt=now + SHOWS_WITHIN)
            | ~Q(**_by_present_law())
            | reduce(or_, (Q(changed) for changed in _changed_since()))
        )
        .order_by("pk")
    )


def with_answers_that_hold(
    appliances: QuerySet[Appliance], *, as_of: datetime.date, known_at: datetime.datetime
) -> QuerySet[Appliance]:
    """Those whose stored assessment is the answer of the present rulebook to a question.

    Args:
        appliances: of these.
        as_of: the day on which clocks are read.
        known_at: what was filed, or changed in a register, later doesn't count.
    """
    holding = appliances.filter(
        assessment__as_of__lte=as_of, assessment__holds_until__gte=as_of, **_by_present_law()
    )
    for changed in _changed_since(known_at):
        holding = holding.filter(~changed)
    return holding


def _by_present_law() -> dict[str, str]:
    return {
        "assessment__rulebook_version": RULEBOOK_VERSION,
        "assessment__tables_version": load_tables().version,
    }


def _changed_since(known_at: datetime.datetime | None = None) -> list[Exists]:
    """Whether a register or a record may be another one than when an appliance was assessed, or than at an instant."""
    assessed_at = OuterRef("assessment__assessed_at")
    changed, filed = Q(history_date__gt=assessed_at - SHOWS_WITHIN), Q(filed_at__gt=assessed_at)
    if known_at is not None:
        changed |= Q(history_date__gt=known_at - SHOWS_WITHIN)
        filed |= Q(filed_at__gt=known_at)
    return [
        Exists(Appliance.history.filter(changed, id=OuterRef("pk"))),
        Exists(Site.history.filter(changed, id=OuterRef("site_id"))),
        Exists(ServiceEvent.objects.filter(filed, appliance=OuterRef("pk"))),
        Exists(CaseFiling.objects.filter(filed, appliance=OuterRef("pk"))),
        Exists(LeakRateMethodChange.objects.filter(filed, site=OuterRef("site_id"))),
    ]
