"""Estimated next charges: of one appliance as of now, and of all that were charged often enough, as last estimated."""

import datetime
from dataclasses import dataclass
from fractions import Fraction

from django.db.models import (
    Case,
    CharField,
    Count,
    F,
    FloatField,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
    When,
)
from django.db.models.functions import Cast, Coalesce, Concat

from compliance.forecast.forecast import LEAST_INTERVALS, Forecast, NoForecast, forecast
from compliance.models import ApplianceForecast
from compliance.selectors.facts import appliance_facts, rules_for
from compliance.selectors.site_dates import SiteDates
from jobs.models import Appliance, ChainLink, Customer, Transfer
from jobs.models.chain import APPLIANCE_CHAIN
from jobs.selectors.appliances import appliance_matches, refrigerant_now

NO_FORECAST = {
    NoForecast.TOO_FEW_CHARGES: "It was charged too seldom: an estimate wants two intervals of the last three years.",
    NoForecast.NOT_IN_USE: "It is out of use: retired or mothballed.",
    NoForecast.LOSES_LESS: "It loses less than ever before: by its past it would have wanted a charge already.",
}


@dataclass(frozen=True)
class ForecastFilter:
    """Which estimates to show; what is empty doesn't narrow.

    ``is_soon`` leaves those that may go over a threshold within 90 days.
    """

    search: str = ""
    customer: Customer | None = None
    is_soon: bool = False


def appliance_forecast(appliance: Appliance, now: datetime.datetime) -> Forecast | NoForecast:
    """Estimate the next charge of one appliance from its records as they stand.

    Args:
        appliance: with its site.
        now: the instant whose date at the site counts as today.
    """
    described, facts = appliance_facts(appliance)
    as_of = now.astimezone(appliance.site.zone).date()
    return forecast(described, facts, as_of=as_of, rules=rules_for(appliance.site))


def forecasts(wanted: ForecastFilter) -> QuerySet[ApplianceForecast]:
    """The kept estimates, the most likely to go over a threshold within 90 days first, then the soonest charges.

    Among equal shares of the past, more intervals weigh more: the share is taken with one interval added on either
    side (Laplace's rule of succession).
    """
    share = Cast(F("over_soon_count") + 1, FloatField()) / Cast(F("outcome_count") + 2, FloatField())
    rows = (
        ApplianceForecast.objects.filter(appliance_matches(wanted.search, "appliance__"))
        .select_related("appliance__site__customer")
        .annotate(refrigerant_now=refrigerant_now("appliance__"))
        .order_by(
            Case(When(over_soon_count=0, then=Value(0.0)), default=share).desc(),
            F("next_on").asc(nulls_last=True),
            "pk",
        )
    )
    if wanted.customer:
        rows = rows.filter(appliance__site__customer=wanted.customer)
    return rows.filter(over_soon_count__gt=0) if wanted.is_soon else rows


def appliances_to_forecast(now: datetime.datetime) -> QuerySet[Appliance]:
    """Appliances charged often enough whose estimate is missing, of another day, or of other records.

    Each carries ``chain_length``, the number of records in its chain.
    """
    charged = (
        Transfer.objects.filter(to_holder__appliance__isnull=False, event__isnull=False, reverses=None)
        .values("to_holder__appliance")
        .annotate(charges=Count("pk"))
        .filter(charges__gt=LEAST_INTERVALS)
    )
    chain = Concat(Value(f"{APPLIANCE_CHAIN}:"), Cast(OuterRef("pk"), CharField()))
    newest = ChainLink.objects.filter(chain=chain).order_by("-sequence").values("sequence")[:1]
    return (
        Appliance.objects.filter(pk__in=charged.values("to_holder__appliance"))
        .annotate(chain_length=Coalesce(Subquery(newest), 0))
        .alias(site_today=SiteDates(now).today("site__time_zone"))
        .filter(
            Q(forecast=None)
            | ~Q(forecast__as_of=F("site_today"))
            | ~Q(forecast__chain_length=F("chain_length"))
        )
        .select_related("site")
        .order_by("pk")
    )


def no_forecast_in_words(missing: str) -> str:
    """Why an appliance has no estimate, in one sentence."""
    return NO_FORECAST[NoForecast(missing)]


def in_hundred(share: Fraction) -> int:
    """A share as cases of a hundred, rounded."""
    return round(100 * share)
