"""How much refrigerant may be added to an appliance before a leak rate goes over its threshold."""

import datetime

from compliance.rulebook.assess import assess
from compliance.rulebook.results import Headroom
from compliance.selectors.facts import appliance_facts, rules_for
from jobs.models import Appliance, ServiceEvent


def appliance_headroom(
    appliance: Appliance, on: datetime.date, *, without: ServiceEvent | None = None
) -> Headroom:
    """The largest addition on a day that stays at or under every threshold, for a leak not on record yet.

    Args:
        appliance: the one to be charged.
        on: the day at the site.
        without: an event that is being amended, and so doesn't count.
    """
    described, facts = appliance_facts(appliance, without=without)
    return assess(described, facts, as_of=on, rules=rules_for(appliance.site)).headroom
