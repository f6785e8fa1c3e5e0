"""The two federal rules put together: verdict, leak rates, obligations and headroom of each."""

from dataclasses import replace

from compliance.rulebook.additions import CollectedAdditions, collect_additions
from compliance.rulebook.jurisdictions.docket import Docket
from compliance.rulebook.jurisdictions.lifetime import Lifetime, Reach, lifetime
from compliance.rulebook.jurisdictions.us_federal.applicability import verdict
from compliance.rulebook.jurisdictions.us_federal.cases import Cases
from compliance.rulebook.jurisdictions.us_federal.chronic import open_chronic_leak_reports
from compliance.rulebook.jurisdictions.us_federal.detection import open_leak_detection
from compliance.rulebook.jurisdictions.us_federal.inspections import Inspections
from compliance.rulebook.jurisdictions.us_federal.rates import RatedAdditions
from compliance.rulebook.results import LeakRate, RuleAssessment
from compliance.rulebook.rules import US_FEDERAL_HFC, US_FEDERAL_ODS
from compliance.rulebook.tables import Tables
from compliance.rulebook.timeline import Timeline


def assess_us_federal(timeline: Timeline, tables: Tables) -> list[RuleAssessment]:
    """Answers as ``us-federal-ods`` (40 CFR 82.157) and ``us-federal-hfc`` (40 CFR 84.106), each on its own."""
    return [_assess(rule, timeline, tables) for rule in (US_FEDERAL_ODS, US_FEDERAL_HFC)]


def _assess(rule: str, timeline: Timeline, tables: Tables) -> RuleAssessment:
    reach = Reach(rule, tables, lambda state, on: verdict(rule, timeline.appliance, state, on, tables))
    now = reach.verdict(timeline.final_state, timeline.as_of)
    life = lifetime(timeline, reach)
    if not life.ever:
        return RuleAssessment(verdict=now)
    season = tables.row(rule, "seasonal_variance_period", on=timeline.as_of)
    additions = collect_additions(timeline, season)
    rated = RatedAdditions(rule, timeline, additions, tables, reach)
    rates = rated.leak_rates()
    docket = Docket(rule, timeline, tables)
    docket.scope_on = reach.scope(timeline)
    _open_obligations(docket, rates, additions, life)
    answer = docket.finish(now, leak_rates=rates, headroom=rated.headroom())
    return replace(answer, warnings=(*answer.warnings, *rated.methods.warnings))


def _open_obligations(
    docket: Docket,
    rates: list[LeakRate],
    additions: CollectedAdditions,
    life: Lifetime,
) -> None:
    cases = Cases(docket)
    cases.follow(rates)
    inspections = Inspections(docket, rates, life)
    if docket.rule == US_FEDERAL_ODS:
        inspections.open_from_exceedances()
    else:
        inspections.open_from_follow_ups(cases.passed_follow_ups, rests_on=cases.follow_ups_rest_on)
    rated = {rate.position for rate in rates}
    open_chronic_leak_reports(docket, additions, rated)
    open_leak_detection(docket, life)
