"""Case filings as they stand now or stood at an instant, in the order that the law counts them."""

import datetime

from django.db.models import Exists, OuterRef, Q, QuerySet

from jobs.models import Appliance, CaseFiling
from jobs.selectors.events import LEGAL_ORDER


def current_filings(appliance: Appliance, known_at: datetime.datetime | None = None) -> QuerySet[CaseFiling]:
    """List the appliance's filings that stand, in legal order.

    Args:
        appliance: the one they are about.
        known_at: as the records stood at this instant; now unless given.
    """
    return filings_standing(known_at).filter(appliance=appliance).order_by(*LEGAL_ORDER)


def filings_standing(known_at: datetime.datetime | None = None) -> QuerySet[CaseFiling]:
    """List the filings of all appliances that are neither superseded nor void, now or at an instant, in no order."""
    filings = CaseFiling.objects.filter(is_void=False)
    amendments = CaseFiling.objects.filter(supersedes=OuterRef("pk"))
    if known_at is not None:
        filings = filings.filter(filed_at__lte=known_at)
        amendments = amendments.filter(filed_at__lte=known_at)
    return filings.filter(~Exists(amendments)).order_by()


def filing_line(filing: CaseFiling) -> QuerySet[CaseFiling]:
    """List a filing's whole line: the first record and its amendments, oldest first."""
    first_id = filing.original_id or filing.pk
    return CaseFiling.objects.filter(Q(pk=first_id) | Q(original=first_id)).order_by("pk")
