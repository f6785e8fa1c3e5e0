"""California's rule put together: verdict, inspections, repair of any leak, detection, annual report, records.

Not told apart here: seasonal systems by their nature, small systems of a facility whose class is larger, and whether a
facility reports its greenhouse gases. Registration and its fee are the facility's, and are only mentioned.
"""

from compliance.rulebook.additions import collect_additions
from compliance.rulebook.jurisdictions.docket import Docket
from compliance.rulebook.jurisdictions.lifetime import Reach, lifetime
from compliance.rulebook.jurisdictions.us_california.applicability import verdict
from compliance.rulebook.jurisdictions.us_california.detection import open_detection
from compliance.rulebook.jurisdictions.us_california.inspections import open_inspections
from compliance.rulebook.jurisdictions.us_california.leaks import LeakCases
from compliance.rulebook.jurisdictions.us_california.reports import open_annual_reports
from compliance.rulebook.results import RuleAssessment
from compliance.rulebook.rules import US_CALIFORNIA
from compliance.rulebook.tables import Tables
from compliance.rulebook.timeline import Timeline


def assess_us_california(timeline: Timeline, tables: Tables) -> list[RuleAssessment]:
    """Inspections (95385), repairs (95386), retrofit or retirement (95387), reports (95388) and records (95389)."""
    docket = Docket(US_CALIFORNIA, timeline, tables)
    reach = Reach(US_CALIFORNIA, tables, lambda state, on: verdict(docket, state, on))
    docket.scope_on = reach.scope(timeline)
    now = reach.verdict(timeline.final_state, timeline.as_of)
    life = lifetime(timeline, reach)
    if not life.ever:
        return [RuleAssessment(verdict=now)]
    season = docket.row("seasonal_variance_period", timeline.as_of)
    additions = collect_additions(timeline, season)
    open_inspections(docket, life, additions)
    open_detection(docket, life)
    LeakCases(docket, life).follow()
    open_annual_reports(docket, life)
    return [docket.finish(now)]
