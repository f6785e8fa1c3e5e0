"""California's annual report of medium and large systems, for each calendar year with records here (95388)."""

from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.duties import Clock
from compliance.rulebook.facts import FactKind
from compliance.rulebook.jurisdictions.docket import Docket
from compliance.rulebook.jurisdictions.lifetime import Lifetime
from compliance.rulebook.results import ObligationKind


def open_annual_reports(docket: Docket, life: Lifetime) -> None:
    """Opens a report on 1 January for each full year from that of the first record on, if the system was large enough.

    What counts is the full charge at the year's end, or at the end of the rule for the appliance within the year.
    """
    timeline = docket.timeline
    if not timeline.moments:
        return
    for year in range(timeline.moments[0].fact.on.year, timeline.as_of.year):
        end_on = date(year, 12, 31)
        if life.began_on is not None and life.began_on > end_on:
            continue
        if life.ended_on is not None and life.ended_on <= date(year, 1, 1):
            return
        _open_for_year(docket, year, end_on)


def _open_for_year(docket: Docket, year: int, end_on: date) -> None:
    charge_mg = docket.timeline.state_on(end_on).full_charge_mg
    row = docket.find_row("annual_report", end_on, full_charge_mg=charge_mg)
    if row is None:
        return
    month, day = (int(part) for part in row.value.split("-"))
    due_on = date(year + 1, month, day)
    because = (
        f"What was done, charged, recovered and bought in {year} is reported by {due_on} for systems {row.applies_to}. "
        f"{policy.ANNUAL_REPORT_BY_SYSTEM.sentence}."
    )
    kind = ObligationKind.ANNUAL_REPORT
    duty = docket.open(kind, row, date(year + 1, 1, 1), Clock(due_on), because, None)
    for filed in docket.timeline.of_kind(FactKind.ANNUAL_REPORT_FILED):
        if filed.year == year and duty.is_pending:
            duty.meet(filed.on, filed.event, f"Filed on {filed.on}.")
