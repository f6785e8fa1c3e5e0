"""Checks the days of a visit: once with the whole submission, and by a form before it has one to hand over."""

import datetime

from jobs.models import Appliance
from jobs.services.refusals import Refusals


def check_days(
    refusals: Refusals,
    *,
    appliance: Appliance,
    today: datetime.date,
    happened_on: datetime.date | None,
    owner_told_on: datetime.date | None,
) -> None:
    """Note days in the future or from before the installation; None is nothing to note.

    Args:
        refusals: takes what is noted.
        appliance: the one visited.
        today: the date at its site when the visit is filed.
        happened_on: the day of the visit.
        owner_told_on: the day the owner or operator was told of an exceedance.
    """
    installed_on = appliance.installed_on
    if happened_on and happened_on > today:
        refusals.add("happened_on", happened_on, f"Expected a date no later than {today}, today at the site.")
    if happened_on and happened_on < installed_on:
        expected = f"Expected a date no earlier than {installed_on}, when it was installed."
        refusals.add("happened_on", happened_on, expected)
    refusals.check_day("owner_told_on", owner_told_on, latest=today, earliest=installed_on)
