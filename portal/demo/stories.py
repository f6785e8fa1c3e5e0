"""The stories that demo appliances live through, one function each. No database here.

A story gets the category's leak rate threshold as a fraction (it asks the rulebook's tables for
nothing: the loader passes it in) and a seeded random source, and returns its visits.
"""

import random
from collections.abc import Callable
from dataclasses import replace

from portal.demo.story_parts import closed, exceedance, follow_up, leak, past, repair
from portal.demo.visits import Visit

Story = Callable[[float, random.Random, int], list[Visit]]


def quiet(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Yearly maintenance and nothing else."""
    first = source.randrange(20, 200)
    return [
        Visit(days, "Yearly maintenance: coils cleaned, pressures and superheat checked.", inspects=True)
        for days in range(first, min(age_days, 1060), 365)
    ]


def seep(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """A small addition about once a year, well under the threshold."""
    first = source.randrange(30, 150)
    return [
        Visit(
            days,
            "Charge trimmed to the sight glass at yearly maintenance.",
            added_fraction=threshold * source.uniform(0.2, 0.35),
            inspects=True,
        )
        for days in range(first, min(age_days, 1060), source.randrange(310, 350))
    ]


def purged(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """A seep; part of the last addition replaced what the purge unit took out and a control device destroyed."""
    return seep(threshold, source, age_days)


def installed(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Installed and charged by the firm, then looked after."""
    return [
        Visit(
            age_days,
            "Installed, pressure tested with nitrogen, evacuated and charged.",
            added_fraction=1.0,
            reason="installation",
            evacuates=True,
        ),
        *(
            Visit(days, "Maintenance under warranty.", inspects=True)
            for days in range(age_days - 180, 20, -180)
        ),
    ]


def over_open(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Over the threshold a few days ago; repair not yet done."""
    return [*past(threshold, source), exceedance(source.randrange(3, 9), threshold, leak(source))]


def over_due_soon(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Over the threshold four weeks ago; the repair is due within days."""
    return [*past(threshold, source), exceedance(source.randrange(25, 29), threshold, leak(source))]


def over_overdue(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Over the threshold and nothing done in time; the owner declined."""
    return [
        *past(threshold, source),
        exceedance(43, threshold, leak(source), owner_decision="declined"),
    ]


def repaired_waiting_initial(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Repaired; the initial verification test is still to be done."""
    return [
        *past(threshold, source),
        exceedance(19, threshold, leak(source)),
        repair(4, 1, initial=None),
    ]


def initial_passed(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Repaired and initially verified; the follow-up test is due within days."""
    return [*past(threshold, source), exceedance(16, threshold, leak(source)), repair(6, 1)]


def initial_failed(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """The initial verification test failed."""
    return [
        *past(threshold, source),
        exceedance(21, threshold, leak(source)),
        repair(2, 1, initial=False),
    ]


def evacuated_waiting_operation(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Evacuated for the repair and not yet back to normal operating conditions."""
    return [
        *past(threshold, source),
        exceedance(24, threshold, leak(source)),
        # The isolated section's refrigerant was recovered for the repair and put back the same day.
        replace(repair(7, 1, evacuates=True), removed_fraction=0.08, added_fraction=0.08),
    ]


def followup_overdue(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Initially verified, but nobody came for the follow-up test."""
    return [*past(threshold, source), exceedance(34, threshold, leak(source)), repair(15, 1)]


def followup_failed(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """The follow-up test failed, so repair and tests are owed again."""
    return [
        *past(threshold, source),
        exceedance(22, threshold, leak(source)),
        repair(10, 1),
        follow_up(3, 1, passed=False),
    ]


def verified(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """A case closed some months ago; leak inspections run."""
    start = source.randrange(150, 170)
    return [
        *past(threshold, source),
        *closed(threshold, source, start),
        Visit(start - 95, "Leak inspection after the repair.", inspects=True),
    ]


def verified_recent(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """A case closed last month."""
    return [*past(threshold, source), *closed(threshold, source, source.randrange(40, 60))]


def closed_case(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """A case long closed, with its inspections done."""
    start = source.randrange(600, 700)
    visits = closed(threshold, source, start)
    visits += [
        Visit(days, "Leak inspection after last year's repair.", inspects=True)
        for days in range(start - 100, 30, -88)
    ]
    return visits


def chronic(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Leaks again and again, each time repaired and verified."""
    visits: list[Visit] = []
    for number, days in enumerate((330, 265, 190, 120, 50), start=1):
        visits += [
            exceedance(days, threshold, leak(source), over=0.34 / threshold),
            repair(days - 4, number),
            follow_up(days - 12, number),
        ]
    return visits


def plan(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """The owner chose retirement and has made a plan."""
    return [
        *past(threshold, source),
        exceedance(80, threshold, leak(source)),
    ]


def mothballed(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Evacuated to atmospheric pressure and shut down while the clock ran."""
    return [
        *past(threshold, source),
        exceedance(38, threshold, leak(source)),
        Visit(
            29,
            "Charge recovered and the system shut down for the season.",
            removed_fraction=0.6,
        ),
    ]


def shutdown(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """The repair needs an industrial process shutdown, so 120 days instead of 30."""
    return [
        *past(threshold, source),
        exceedance(45, threshold, leak(source)),
        Visit(
            40,
            "Leak is in the process loop's evaporator; the line must be shut down for the repair.",
            inspects=True,
        ),
    ]


def waiting_for_parts(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Over the threshold, and the part for the repair is weeks away."""
    return [
        *past(threshold, source),
        exceedance(16, threshold, 3),
        Visit(14, "Seal examined; no kit is to be had, so one is ordered.", inspects=True),
    ]


def relief_asked(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """A plan was made, then the leak was found and repaired after all; relief from the plan is asked for."""
    return [
        exceedance(140, threshold, leak(source)),
        repair(75, 1),
        Visit(30, "Charge trimmed after the repair.", added_fraction=threshold * 0.05, inspects=True),
    ]


def relief_granted(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """A plan was made, the leak was repaired after all, and the agency granted relief from the plan."""
    return [
        exceedance(source.randrange(230, 236), threshold, leak(source)),
        repair(150, 1),
        Visit(125, "Charge trimmed after the repair.", added_fraction=threshold * 0.05, inspects=True),
        repair(80, 1),
    ]


def more_time_for_plan(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Retirement is planned, and the agency granted more time for it."""
    return [*past(threshold, source), exceedance(215, threshold, leak(source))]


def parts_of_the_state(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """A small leak that California's rule alone asks to repair; its part is weeks away."""
    return [
        *past(threshold, source),
        Visit(
            15,
            "Leak found at the case 4 distributor; the part isn't in stock anywhere.",
            finds_leaks=(4,),
        ),
    ]


def watched(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Leak detection watches it; one case was closed last month."""
    return verified_recent(threshold, source, age_days)


def seasonal(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Charge removed before winter and put back in spring."""
    return [
        Visit(410, "Winter charge: refrigerant removed.", removed_fraction=0.15, reason="seasonal_variance"),
        Visit(225, "Summer charge: refrigerant put back.", added_fraction=0.14, reason="seasonal_variance"),
        Visit(45, "Winter charge: refrigerant removed.", removed_fraction=0.15, reason="seasonal_variance"),
    ]


def disposed(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Emptied and retired."""
    return [
        *past(threshold, source),
        Visit(
            source.randrange(60, 300),
            "Refrigerant recovered, lines cut and capped; unit removed from service.",
            removed_fraction=0.82,
            reason="disposal",
            evacuates=True,
            statements=(("retired", {}),),
        ),
    ]


def taken_over(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Came with a former contractor's records."""
    return [
        Visit(
            1000,
            "From the former contractor's log: charge topped up.",
            added_fraction=threshold * 0.4,
            origin="former_records",
        ),
        Visit(
            690,
            "From the former contractor's log: charge topped up.",
            added_fraction=threshold * 0.3,
            origin="former_records",
        ),
        Visit(110, "First maintenance under our contract.", added_fraction=threshold * 0.2, inspects=True),
    ]


def other_contractor(threshold: float, source: random.Random, age_days: int) -> list[Visit]:
    """Another firm worked on it in between."""
    return [
        Visit(300, "Yearly maintenance.", inspects=True),
        Visit(
            140,
            "Emergency call taken by another contractor; refrigerant added.",
            added_fraction=threshold * 0.5,
            origin="other_contractor",
        ),
    ]


STORIES: dict[str, Story] = {
    story.__name__: story
    for story in (
        quiet,
        seep,
        purged,
        installed,
        over_open,
        over_due_soon,
        over_overdue,
        repaired_waiting_initial,
        initial_passed,
        initial_failed,
        evacuated_waiting_operation,
        followup_overdue,
        followup_failed,
        verified,
        verified_recent,
        closed_case,
        chronic,
        plan,
        mothballed,
        shutdown,
        waiting_for_parts,
        relief_asked,
        relief_granted,
        more_time_for_plan,
        parts_of_the_state,
        watched,
        seasonal,
        disposed,
        taken_over,
        other_contractor,
    )
}
