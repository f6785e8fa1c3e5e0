"""The two federal rules put together: verdict, leak rates, obligations and headroom of each."""

from datetime import date

from compliance.rulebook.additions import CollectedAdditions
from compliance.rulebook.jurisdictions.us_federal.applicability import verdict
from compliance.rulebook.jurisdictions.us_federal.cases import Cases
from compliance.rulebook.jurisdictions.us_federal.chronic import open_chronic_leak_reports
from compliance.rulebook.jurisdictions.us_federal.detection import open_leak_detection
from compliance.rulebook.jurisdictions.us_federal.docket import Docket
from compliance.rulebook.jurisdictions.us_federal.inspections import Inspections
from compliance.rulebook.jurisdictions.us_federal.rates import headroom, leak_rates
from compliance.rulebook.results import LeakRate, Obligation, RuleAssessment, RuleVerdict
from compliance.rulebook.retention import record_retention
from compliance.rulebook.rules import US_FEDERAL_HFC, US_FEDERAL_ODS
from compliance.rulebook.tables import Tables
from compliance.rulebook.timeline import Timeline


def assess_us_federal(
    timeline: Timeline, additions: CollectedAdditions, tables: Tables
) -> list[RuleAssessment]:
    """Answers as ``us-federal-ods`` (40 CFR 82.157) and ``us-federal-hfc`` (40 CFR 84.106), each on its own."""
    return [_assess(rule, timeline, additions, tables) for rule in (US_FEDERAL_ODS, US_FEDERAL_HFC)]


def _assess(rule: str, timeline: Timeline, additions: CollectedAdditions, tables: Tables) -> RuleAssessment:
    now = verdict(rule, timeline.appliance, timeline.final_state, timeline.as_of, tables)
    days = _days_in_force(rule, timeline, tables, now)
    if not any(is_applicable for _, is_applicable in days):
        return RuleAssessment(verdict=now)
    ended_on = _ended_on(timeline, days)
    rates = leak_rates(rule, timeline, additions, tables)
    docket = Docket(rule, timeline, tables)
    obligations = _obligations(docket, rates, additions, tables, ended_on)
    return RuleAssessment(
        verdict=now,
        leak_rates=tuple(rates),
        obligations=tuple(obligations),
        headroom=headroom(rule, timeline, additions, tables),
        warnings=tuple(docket.warnings),
    )


def _obligations(
    docket: Docket,
    rates: list[LeakRate],
    additions: CollectedAdditions,
    tables: Tables,
    ended_on: date | None,
) -> list[Obligation]:
    cases = Cases(docket)
    cases.follow(rates)
    inspections = Inspections(docket, tables, rates, ended_on)
    if docket.rule == US_FEDERAL_ODS:
        inspections.open_from_exceedances()
    else:
        inspections.open_from_follow_ups(cases.passed_follow_ups)
    rated = {rate.position for rate in rates}
    open_chronic_leak_reports(docket, [addition for addition in additions.rows if addition.position in rated])
    open_leak_detection(docket, ended_on)
    retention = docket.row("record_retention", docket.timeline.as_of)
    return [*docket.finish(), *record_retention(docket.rule, docket.timeline, retention)]


def _days_in_force(
    rule: str, timeline: Timeline, tables: Tables, now: RuleVerdict
) -> list[tuple[date, bool]]:
    """Whether the rule applied at each fact, and whether it does on the day asked about."""
    appliance = timeline.appliance
    at_facts = [
        (moment.fact.on, verdict(rule, appliance, moment.state, moment.fact.on, tables).is_applicable)
        for moment in timeline.moments
    ]
    return [*at_facts, (timeline.as_of, now.is_applicable)]


def _ended_on(timeline: Timeline, days: list[tuple[date, bool]]) -> date | None:
    """The day from which nothing more is owed for good: retired, or the rule ceased to apply and didn't again."""
    if timeline.retired_on is not None:
        return timeline.retired_on
    ended_on = None
    for on, is_applicable in days:
        if is_applicable:
            ended_on = None
        elif ended_on is None:
            ended_on = on
    return ended_on
