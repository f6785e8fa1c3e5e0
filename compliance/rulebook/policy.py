"""Choices where the law's text leaves room: each one named constant with its wording, quoted where it was used.

A ``Choice`` prints as its wording. Numbers of the law stand in the tables (fixtures/rules); the few here are ours.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Choice:
    """One documented choice: a short sentence for the reader, and its number where it has one."""

    wording: str
    value: int = 0

    def __str__(self) -> str:
        return self.wording

    @property
    def sentence(self) -> str:
        """The wording with a capital, to begin a sentence with."""
        return self.wording[0].upper() + self.wording[1:]


# Masses and thresholds.

RESOLUTION = Choice("masses are whole milligrams, so each entry counted may be 1 mg off", 1)
OVER_IS_NOT_AT = Choice("over the threshold means more than the threshold")
NET_WITHIN_ONE_EVENT = Choice("what was removed and put back in one event counts by its net")
UNNAMED_DAY_IS_ONE_EVENT = Choice(
    "additions of one day that name neither event nor leak are one event, with that day's removals that name none"
)
NET_OF_NOTHING = Choice(
    "no more was put back than removed, yet it counts as a day on which refrigerant was added"
)
CHARGE_IN_FORCE = Choice("the full charge is the one in force when refrigerant was added")

# Intervals and windows.

SAME_LEAK_IS_SUMMED = Choice(
    "additions for the same leak are summed; the days run from the last addition before them to the first of them"
)
ONE_DAY_AT_LEAST = Choice("two events on one day count as one day apart", 1)
INTERVAL_IS_CAPPED = Choice("no interval is longer than a year")
NO_EARLIER_ADDITION = Choice("no earlier addition is known, so the days since installation count")
NOTHING_EARLIER_KNOWN = Choice(
    "neither an earlier addition nor the installation is known, so a full year counts"
)
WINDOW_INCLUDES_ITS_DAY = Choice("the addition's own day is the last of the period")
LATER_WINDOWS_REACH_BACK = Choice(
    "only the first calculation under the rule leaves out what was added before its first day"
)
WINDOW_BEGINS_ANEW = Choice("the count begins anew at a passed follow-up test of all leaks, or a retrofit")
# UNCONFIRMED: that the excess alone counts is remembered from the preamble of the 2016 rule, not read in 40 CFR 82.152.
SEASONAL_EXCESS_IS_SERVICE = Choice(
    "a seasonal addition counts as service as far as it exceeds the seasonal removals of the year before"
)
METHOD_FROM_ITS_DAY = Choice(
    "the facility’s changed method holds from the day of the change on; the first calculation is the first by either"
)
DAYS_IN_LEAP_YEARS = Choice("the year of the formula has no day more in leap years")

# Applicability.

BLEND_UNDER_BOTH = Choice(
    "a blend with a hydrofluorocarbon isn't solely ozone-depleting, so both rules reach it"
)
ODS_BLEND_WITHOUT_HFC = Choice(
    "a blend that holds an ozone-depleting substance and no regulated hydrofluorocarbon is under 40 CFR 82.157 alone"
)
GWP_GATES_SUBSTITUTES_ONLY = Choice(
    "the global warming potential counts only where no regulated substance is in it"
)
SUBSECTOR_IS_A_DECISION = Choice(
    "whether an appliance belongs to the residential and light commercial subsector is a person's decision on record"
)

# Clocks.

CALENDAR_DAYS = Choice("the day refrigerant was added is day 0; weekends and holidays count as days")
SAME_DAY_WORK_COUNTS = Choice(
    "repairs, inspections and initial tests of the day the rate was exceeded count, in any order"
)
LATER_EXCESS_MOVES_NOTHING = Choice("a later addition over the threshold doesn't move an open clock")
MOTHBALL_SUSPENDS = Choice(
    "mothballing suspends what isn't overdue; it goes on, with the days left, when refrigerant is next added"
)
RETURN_NEEDS_ADDITION = Choice("clocks of a mothballed appliance go on when refrigerant is added, not before")
MOTHBALL_SPARES_INSPECTIONS = Choice(
    "mothballing suspends neither leak inspections nor the chronic leak report"
)
FOLLOW_UP_AFTER_EVACUATION = Choice(
    "after a repair that evacuated the appliance the days count from its return to normal operation"
)
FAILED_TEST_REOPENS = Choice("that reopens the repair, and the next test is still due on the case's date")
ALL_OPEN_LEAKS = Choice("a test counts as passed when every open leak has passed")
EXTENSION_BEFORE_DUE = Choice("an extension counts when it is filed on or before the due date")
PARTS_DUE_ON_CAP = Choice("without a delivery date the cap is the due date")
ANSWER_TO_NEWEST = Choice(
    "an answer of the agency belongs to the newest request, for a repair, a test or a plan, that has none"
)
REFUSAL_ENDS_EXTENSION = Choice(
    "a refused extension ends as if it hadn't been asked for; what was done before the answer stays in time"
)
SHUTDOWN_BEFORE_DUE = Choice(
    "an industrial process shutdown counts when it is recorded on or before the due date"
)

# Evacuation.

NO_HIGHER_THAN_THE_AIR = Choice("it stands above the air at the site, so 0 psig, the stricter bound, counts")
COMPRESSOR_COUNTS_AS_RUNNING = Choice("whether the compressor runs isn't stated, so the larger share counts")

# Plans.

PLAN_FROM_EXCESS = Choice("the plan's days run from the day the rate was exceeded")
# UNCONFIRMED: that looking for the leak is an action is remembered from 40 CFR 82.157(h)(1)(ii), not read there.
PLAN_WHEN_NOTHING_DONE = Choice("no repair, inspection, test or extension was recorded by the due date")
PLAN_WHEN_STILL_OVER = Choice("still over the threshold at an addition after repair and tests")
PLAN_IS_ELECTION = Choice(
    "choosing to retrofit or retire, or filing the plan for it, ends the duty to repair and test"
)
SILENCE_IS_APPROVAL = Choice("no answer within the agency's days counts as approval")
EXEMPT_SUBSTITUTE_FROM_PLAN = Choice(
    "a replacement that uses an exempt substitute has its months from the plan's date, without asking"
)
RELIEF_REPAIR = Choice(
    "relief rests on a promise to repair all identified leaks in a time counted from the plan's date"
)

# Inspections, reports, records.

# UNCONFIRMED: 40 CFR 82.157(g) and 84.106(g) as read don't say what a period without a calculation counts as.
NO_ADDITION_IS_UNDER = Choice("a period without an addition counts as such")
CALENDAR_YEAR_OF_EXCESS = Choice("the year of the exceedance itself doesn't")
WAIVER_NEEDS_CALIBRATION = Choice(
    "automatic leak detection replaces inspections for a year from its installation or last calibration"
)
DIRECT_NEEDS_ENCLOSURE = Choice("direct detection replaces inspections only where the appliance is enclosed")
CHRONIC_BY_CALENDAR_YEAR = Choice(
    "the calendar year counts, with its last full charge; a follow-up test doesn't begin it anew"
)
RETENTION_FROM_NEWEST = Choice("counted from the newest record")

# Outside federal United States law.

STRICTER_BAND = Choice(
    "a blend of Annex I and Annex II gases is held against both bands, and the shorter interval counts"
)
ODS_BLENDS_ARE_RULED_ELSEWHERE = Choice(
    "refrigerant that holds an ozone-depleting substance is ruled by Regulation (EU) 2024/590, not by this one"
)
NEXT_AFTER_EACH = Choice("each inspection begins a new interval; the installation begins the first")
LEAK_IS_DETECTED_BY = Choice(
    "an inspection that found a leak, or an addition that names one, counts as its detection"
)
RECHARGE_DETECTS_NOTHING = Choice(
    "an addition on the day of the repair, or of its initial test, puts back what the work took"
)
REGISTRATION_IS_OF_THE_FACILITY = Choice("the facility, not the system, is registered with the state")
# UNCONFIRMED: 17 CCR 95385(d) is remembered without a time in which to inspect after a large addition.
INSPECT_WITH_THE_ADDITION = Choice("the inspection belongs to the visit that added the refrigerant")
# UNCONFIRMED: 17 CCR 95385(e) speaks of seasonal systems; which ones those are isn't on record here.
RETURN_IS_A_START_UP = Choice(
    "a return to service after mothballing counts as the start-up of a seasonal system"
)
# UNCONFIRMED: the times of California's verification tests were not read in 17 CCR 95386.
INITIAL_TEST_WITH_REPAIR = Choice("the initial test completes the repair, so it is due with it")
NOT_BEFORE_ITS_TRIGGER = Choice("a plan isn't due before the day it came to be required")
# UNCONFIRMED: 17 CCR 95387 as remembered doesn't say what a late but sound repair does to the plan.
LATE_REPAIR_ENDS_PLAN = Choice(
    "a repair that passed its test ends the duty to retrofit or retire; that it came late stays on record"
)
ANNUAL_REPORT_BY_SYSTEM = Choice(
    "the facility reports once for all its systems; years before the first record of this one aren't followed"
)

# Certificates.

REFRESHER_FROM_ISSUE = Choice(
    "the years count from the last refresher on record, or else from the day the certificate was issued"
)
EARLIER_LAST_DAY = Choice(
    "of the last day printed on it and that of the next refresher, the earlier one counts"
)
