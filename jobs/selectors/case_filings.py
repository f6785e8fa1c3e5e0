"""Case filings as they stand now or stood at an instant, in the order that the law counts them."""

import datetime

from django.db.models import QuerySet

from jobs.models import Appliance, CaseFiling
from jobs.selectors.amendments import records_standing
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
    return records_standing(CaseFiling, known_at)
