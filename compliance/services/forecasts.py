"""Keeps the estimates of next charges as rows, so that the whole fleet can be put in order."""

import datetime

from compliance.forecast.forecast import NoForecast, forecast
from compliance.models import ApplianceForecast
from compliance.selectors.facts import Records, describe, records_of, rules_for
from compliance.selectors.forecasts import appliances_to_forecast
from jobs.models import Appliance

# Few enough to be made and kept well within a minute.
MOST_AT_ONCE = 500
_FIGURES = (
    "as_of",
    "chain_length",
    "missing",
    "next_on",
    "earliest_on",
    "latest_on",
    "usual_mg",
    "outcome_count",
    "over_count",
    "over_soon_count",
    "rate_pct",
    "threshold_pct",
    "is_repaired_since",
)


def forecasts_refresh(*, now: datetime.datetime) -> int:
    """Estimate anew for some of the appliances whose estimate is missing or old; return for how many.

    It returns 0 once none is left, so that whoever calls it may go on, stop, or be killed between two calls.

    Args:
        now: the instant whose date at each site counts as today.
    """
    appliances = list(appliances_to_forecast(now)[:MOST_AT_ONCE])
    records = records_of([appliance.pk for appliance in appliances])
    rows = [_row(appliance, records[appliance.pk], now) for appliance in appliances]
    ApplianceForecast.objects.bulk_create(
        rows, update_conflicts=True, unique_fields=["appliance"], update_fields=_FIGURES
    )
    return len(rows)


def _row(appliance: Appliance, records: Records, now: datetime.datetime) -> ApplianceForecast:
    as_of = now.astimezone(appliance.site.zone).date()
    row = ApplianceForecast(
        appliance=appliance,
        as_of=as_of,
        chain_length=appliance.chain_length,  # type: ignore[attr-defined]  # an annotation
    )
    answer = forecast(describe(appliance), records.facts(), as_of=as_of, rules=rules_for(appliance.site))
    if isinstance(answer, NoForecast):
        row.missing = answer.value
        return row
    rate = answer.middle.rate
    row.next_on, row.earliest_on, row.latest_on = answer.middle.on, answer.earliest_on, answer.latest_on
    row.usual_mg = answer.usual_mg
    row.outcome_count = len(answer.outcomes)
    row.over_count, row.over_soon_count = answer.over_count, answer.over_soon_count
    row.rate_pct = rate.percent_rounded if rate else None
    row.threshold_pct = rate.threshold_pct if rate else None
    row.is_repaired_since = answer.repaired_on is not None
    return row
