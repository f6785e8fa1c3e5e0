"""Which appliances are to be assessed anew without a filing: a day went by, a register or the law changed."""

import datetime

from django.db.models import Exists, F, OuterRef, Q, QuerySet

from compliance.rulebook.tables import load_tables
from compliance.rulebook.version import RULEBOOK_VERSION
from compliance.selectors.site_dates import SiteDates
from jobs.models import Appliance, CaseFiling, ServiceEvent, Site

# A change of a register bears the time at which it was made, and shows when its transaction ends: within this time.
SHOWS_WITHIN = datetime.timedelta(minutes=1)


def stale_appliances(now: datetime.datetime) -> QuerySet[Appliance]:
    """Appliances whose stored assessment is missing or may be another one by now, by id.

    It is when the date at the site is past the day up to which the answer holds, when the rulebook or its tables have
    changed, and when somebody changed the appliance or its site in the registers, or filed a record, since.
    """
    assessed_at = OuterRef("assessment__assessed_at")
    changed_since = {"history_date__gt": assessed_at - SHOWS_WITHIN}
    filed_since = {"appliance": OuterRef("pk"), "filed_at__gt": assessed_at}
    dates = SiteDates(now)
    return (
        Appliance.objects.alias(site_today=dates.today("site__time_zone"))
        .filter(
            Q(assessment=None)
            | Q(assessment__holds_until__lt=F("site_today"))
            | ~Q(assessment__rulebook_version=RULEBOOK_VERSION)
            | ~Q(assessment__tables_version=load_tables().version)
            | Exists(Appliance.history.filter(id=OuterRef("pk"), **changed_since))
            | Exists(Site.history.filter(id=OuterRef("site_id"), **changed_since))
            | Exists(ServiceEvent.objects.filter(**filed_since))
            | Exists(CaseFiling.objects.filter(**filed_since))
        )
        .order_by("pk")
    )
