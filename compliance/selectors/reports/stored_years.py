"""The figures of a year out of the stored answers, of those appliances whose stored answer provably is today's.

An answer is a function of records, registers, law and a day; it is read from where it is stored if none of those is
another one than when it was calculated. Sums of masses come from the ledger. All of it takes a fixed number of queries.
"""

from collections import defaultdict
from functools import cache
from typing import Any

from django.db.models import BigIntegerField, Count, F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from compliance.models import LeakRate, Obligation
from compliance.rulebook.refrigerants import find
from compliance.rulebook.results import ObligationKind
from compliance.selectors.reports.parameters import ReportParameters
from compliance.selectors.reports.year_figures import (
    KINDS_LEFT_OUT,
    ApplianceFigures,
    ClockCount,
    RateFigures,
    RefrigerantTotal,
    Totals,
    summed,
)
from compliance.selectors.staleness import with_answers_that_hold
from jobs.models import Appliance, Statement, StatementKind, Transfer
from jobs.models.events import event_reference
from jobs.selectors.events import events_standing

#: Statements that put another refrigerant or full charge in the place of the registered one.
CHANGES = (StatementKind.FULL_CHARGE_CHANGE, StatementKind.RETROFITTED)

#: By the appliance's number.
Gross = dict[int, Totals]


def gross_masses(parameters: ReportParameters) -> Gross:
    """Gross masses added to and removed from each appliance in the year up to the day, reversals counted back."""
    transfers = Transfer.objects.filter(
        happened_on__range=parameters.days, event__isnull=False, event__filed_at__lte=parameters.known_at
    )
    if not parameters.is_about_all:
        transfers = transfers.filter(event__appliance__in=_ids(parameters))
    sums = (
        transfers.annotate(is_reversal=Q(reverses__isnull=False))
        .order_by()
        .values_list("event__appliance", "refrigerant", "is_reversal")
        .annotate(
            all_mg=Sum("mass_mg"),
            into_mg=Sum("mass_mg", filter=Q(to_holder__appliance=F("event__appliance")), default=0),
        )
    )
    totals: defaultdict[int, list[RefrigerantTotal]] = defaultdict(list)
    for appliance_id, designation, is_reversal, all_mg, into_mg in sums:
        # A reversal runs the other way: what it gives back was never added, or never removed.
        added_mg, removed_mg = (into_mg - all_mg, -into_mg) if is_reversal else (into_mg, all_mg - into_mg)
        totals[appliance_id].append(RefrigerantTotal(designation, added_mg, removed_mg))
    return {pk: summed(rows) for pk, rows in totals.items()}


def figures_stored(parameters: ReportParameters, gross: Gross) -> dict[int, ApplianceFigures]:
    """The year of each appliance whose stored answer holds, by its number.

    Args:
        parameters: the question.
        gross: what was put in and taken out in the year.
    """
    appliances = Appliance.objects.all() if parameters.is_about_all else parameters.appliances()
    holding = with_answers_that_hold(
        appliances.select_related(None).filter(installed_on__year__lte=parameters.year).order_by(),
        as_of=parameters.as_of,
        known_at=parameters.known_at,
    ).annotate(is_uncovered=Q(assessment__applies=[]))
    rates, (clocks, chronic) = _rates(parameters), _clocks(parameters)
    refrigerants, charges = _changed(parameters)
    return {
        pk: ApplianceFigures(
            pk,
            refrigerants.get(pk) or _designation(refrigerant),
            charges.get(pk, full_charge_mg),
            not is_uncovered,
            pk in chronic,
            tuple(rates.get(pk, ())),
            tuple(clocks.get(pk, ())),
            gross.get(pk, ()),
        )
        for pk, refrigerant, full_charge_mg, is_uncovered in holding.values_list(
            "pk", "refrigerant", "full_charge_mg", "is_uncovered"
        )
    }


def _ids(parameters: ReportParameters) -> QuerySet[Appliance, Any]:
    return parameters.appliances().select_related(None).order_by().values("pk")


def _rates(parameters: ReportParameters) -> dict[int, list[RateFigures]]:
    """The stored leak rates of the year, in order."""
    stored = LeakRate.objects.filter(on__year=parameters.year)
    if not parameters.is_about_all:
        stored = stored.filter(appliance__in=_ids(parameters))
    rates: defaultdict[int, list[RateFigures]] = defaultdict(list)
    for appliance_id, on, rule, event_id, *figures in stored.order_by("appliance", "position").values_list(
        "appliance", "on", "rule", "event", "added_mg", "days", "rate_pct", "threshold_pct", "exceeds"
    ):
        event = None if event_id is None else event_reference(event_id)
        rates[appliance_id].append(RateFigures._make((on, rule, event, *figures)))
    return rates


def _clocks(parameters: ReportParameters) -> tuple[dict[int, list[ClockCount]], set[int]]:
    """The stored clocks of the year, counted by kind and status; and who owes a chronic leak report for it."""
    year = parameters.year
    is_of_year = Q(opened_on__year=year) | Q(due_on__year=year) | Q(met_on__year=year)
    stored = Obligation.objects.filter(is_of_year).exclude(kind__in=KINDS_LEFT_OUT)
    if not parameters.is_about_all:
        stored = stored.filter(appliance__in=_ids(parameters))
    clocks: defaultdict[int, list[ClockCount]] = defaultdict(list)
    of_each = stored.order_by("appliance", "kind", "status").values_list("appliance", "kind", "status")
    for appliance_id, kind, status, count in of_each.annotate(count=Count("pk")):
        clocks[appliance_id].append(ClockCount(kind, status, count))
    chronic = stored.filter(kind=ObligationKind.CHRONIC_LEAK_REPORT, opened_on__year=year)
    return clocks, set(chronic.values_list("appliance", flat=True))


def _changed(parameters: ReportParameters) -> tuple[dict[int, str], dict[int, int]]:
    """Refrigerants and full charges, in milligrams, that records put in the place of the registered ones."""
    standing = events_standing(parameters.known_at).filter(happened_on__lte=parameters.last_on)
    statements = Statement.objects.filter(event__in=standing, kind__in=CHANGES)
    if not parameters.is_about_all:
        statements = statements.filter(event__appliance__in=_ids(parameters))
    refrigerants: dict[int, str] = {}
    charges: dict[int, int] = {}
    of_events = statements.alias(place=Coalesce("event__original", "event", output_field=BigIntegerField()))
    # Later ones take the place of earlier ones.
    for appliance_id, details in of_events.order_by("event__happened_on", "place", "pk").values_list(
        "event__appliance", "details"
    ):
        if refrigerant := details.get("refrigerant"):
            refrigerants[appliance_id] = _designation(refrigerant)
        if full_charge_mg := details.get("full_charge_mg"):
            charges[appliance_id] = full_charge_mg
    return refrigerants, charges


@cache
def _designation(refrigerant: str) -> str:
    return find(refrigerant).designation
