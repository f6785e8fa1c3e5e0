"""What the records say on a filing's day of everything that a request or report states beside its own evidence.

Named as 40 CFR 82.157 and 84.106 list it in (f)(4), (i) and (m)(4). It is kept with the filing, so that a copy
printed years later says what was sent.
"""

import datetime
from typing import Any

from django.db.models import F, QuerySet

from compliance.rulebook.facts import FactKind
from compliance.rulebook.filings.situation import Situation
from compliance.rulebook.results import LeakRate, ObligationKind
from jobs.models import Appliance, LeakFinding, Repair, ServiceEvent
from jobs.selectors.events import events_standing


def case_snapshot(
    appliance: Appliance,
    situation: Situation,
    *,
    since: datetime.date | None = None,
    known_at: datetime.datetime | None = None,
) -> dict[str, Any]:
    """The case of an appliance in JSON's own types; days as ISO 8601, masses in milligrams, rates in percent.

    Args:
        appliance: with its site and customer.
        situation: of the filing's day.
        since: from which day leaks and repairs are told; from the start of the newest case unless given.
        known_at: leaks and repairs filed later don't count; all do unless given.
    """
    exceeded = exceeded_rate(situation)
    since = since or (exceeded.on if exceeded else None)
    site, charge = appliance.site, situation.timeline.final_state
    events = events_standing(known_at).filter(appliance=appliance, happened_on__lte=situation.on)
    if since is not None:
        events = events.filter(happened_on__gte=since)
    return {
        "owner_or_operator": str(site.customer),
        "facility": site.name,
        "facility_address": ", ".join(site.address_lines),
        "appliance": appliance.name,
        "serial_number": appliance.serial_number,
        "appliance_location": appliance.location,
        "appliance_type": appliance.get_category_display(),
        "rules": list(situation.applying),
        "refrigerant": charge.refrigerant.designation,
        "full_charge_mg": charge.full_charge_mg,
        "full_charge_method": appliance.get_full_charge_method_display(),
        "leak_rate_method": charge.leak_rate_method.in_words.capitalize(),
        "exceeded": _rate(exceeded) if exceeded else None,
        "leak_locations": _leaks(events),
        "repairs": _repairs(events),
        "additions": _additions(situation),
        "last_successful_follow_up_on": _last_follow_up(situation),
    }


def exceeded_rate(situation: Situation) -> LeakRate | None:
    """The rate that opened the newest repair case; the newest that was over where none opened one."""
    over = [rate for rate in situation.then.leak_rates if rate.exceeds]
    cases = [row for row in situation.then.obligations if row.kind is ObligationKind.REPAIR]
    for row in reversed(cases):
        for rate in over:
            if (rate.rule, rate.on) == (row.rule, row.opened_on):
                return rate
    return over[-1] if over else None


def _rate(rate: LeakRate) -> dict[str, Any]:
    return {
        "on": rate.on.isoformat(),
        "rule": rate.rule,
        "leak_rate_pct": f"{rate.percent_rounded}",
        "threshold_pct": f"{rate.threshold_pct.normalize():f}",
    }


def _leaks(events: QuerySet[ServiceEvent]) -> list[dict[str, Any]]:
    found = LeakFinding.objects.filter(event__in=events).order_by("event__happened_on", "pk")
    rows = found.values("part", "location", number=F("leak__number"), on=F("event__happened_on"))
    return [{**row, "on": row["on"].isoformat()} for row in rows]


def _repairs(events: QuerySet[ServiceEvent]) -> list[dict[str, Any]]:
    made = Repair.objects.filter(event__in=events).order_by("event__happened_on", "pk")
    rows = made.values("work_done", number=F("leak__number"), on=F("event__happened_on"))
    return [{**row, "on": row["on"].isoformat()} for row in rows]


def _additions(situation: Situation) -> list[dict[str, Any]]:
    """What was added in the two calendar years up to the day: a report is about one of them."""
    first_year = situation.on.year - 1
    return [
        {"on": fact.on.isoformat(), "mass_mg": fact.mass_mg, "reason": fact.reason}
        for fact in situation.before(FactKind.ADDITION)
        if fact.on.year >= first_year
    ]


def _last_follow_up(situation: Situation) -> str | None:
    passed = [
        fact
        for fact in situation.before(FactKind.FOLLOW_UP_VERIFICATION_TEST)
        if fact.passed and fact.all_leaks
    ]
    return passed[-1].on.isoformat() if passed else None
