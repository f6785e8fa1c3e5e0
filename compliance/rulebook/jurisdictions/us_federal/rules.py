"""The two federal rules put together: verdict, leak rates, obligations and headroom of each."""

from compliance.rulebook.additions import CollectedAdditions
from compliance.rulebook.jurisdictions.us_federal.applicability import verdict
from compliance.rulebook.jurisdictions.us_federal.rates import headroom, leak_rates
from compliance.rulebook.results import RuleAssessment
from compliance.rulebook.rules import US_FEDERAL_HFC, US_FEDERAL_ODS
from compliance.rulebook.tables import Tables
from compliance.rulebook.timeline import Timeline


def assess_us_federal(timeline: Timeline, additions: CollectedAdditions, tables: Tables) -> list[RuleAssessment]:
    """Answers as ``us-federal-ods`` (40 CFR 82.157) and ``us-federal-hfc`` (40 CFR 84.106), each on its own."""
    return [_assess(rule, timeline, additions, tables) for rule in (US_FEDERAL_ODS, US_FEDERAL_HFC)]


def _assess(rule: str, timeline: Timeline, additions: CollectedAdditions, tables: Tables) -> RuleAssessment:
    return RuleAssessment(
        verdict=verdict(rule, timeline.appliance, timeline.final_state, timeline.as_of, tables),
        leak_rates=tuple(leak_rates(rule, timeline, additions, tables)),
        headroom=headroom(rule, timeline, additions, tables),
    )
