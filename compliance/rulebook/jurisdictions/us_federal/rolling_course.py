"""The rolling leak rate of one appliance from day to day: what was added in the year before, as the days go by.

The law asks for a rate when refrigerant is added; between additions this shows how the window moves on.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from functools import partial

from compliance.rulebook import policy
from compliance.rulebook.additions import Addition, CollectedAdditions, collect_additions
from compliance.rulebook.facts import Appliance, Fact
from compliance.rulebook.holding import AskedDay
from compliance.rulebook.jurisdictions.lifetime import Reach, lifetime
from compliance.rulebook.jurisdictions.us_federal.applicability import verdict
from compliance.rulebook.jurisdictions.us_federal.rates import rounded_pct
from compliance.rulebook.rules import US_FEDERAL_HFC, US_FEDERAL_ODS
from compliance.rulebook.tables import Row, Tables, load_tables
from compliance.rulebook.timeline import Timeline, build_timeline


@dataclass(frozen=True)
class CourseStep:
    """What holds from a day on, until the next step: the mass in the window, and the full charge in force.

    ``is_over`` says whether that is over the day's threshold, by more than the masses' resolution.
    ``added_mg`` is the net mass of the addition that made the step, and ``event`` its event; ``None`` where it was
    time, a test, a retrofit or a change of the full charge.
    """

    on: date
    counted_mg: int
    full_charge_mg: int
    is_over: bool
    added_mg: int | None = None
    event: str | None = None

    @property
    def percent(self) -> Fraction:
        """The rolling rate in percent of full charge, exact."""
        return Fraction(self.counted_mg * 100, self.full_charge_mg)

    @property
    def percent_rounded(self) -> Decimal:
        """The same with two decimals."""
        return rounded_pct(self.percent)


@dataclass(frozen=True)
class RollingCourse:
    """The steps under one rule, in order, the first on the first day that counts and the last lasting to ``ends_on``.

    ``threshold_pct`` is the one in force at the end; ``began_anew_on`` the days on which the window did; ``notes`` the
    choices that the figures rest on.
    """

    rule: str
    threshold_pct: Decimal
    citation: str
    steps: tuple[CourseStep, ...]
    ends_on: date
    began_anew_on: tuple[date, ...]
    notes: tuple[str, ...]

    @property
    def additions(self) -> list[CourseStep]:
        """The steps that an addition made."""
        return [step for step in self.steps if step.added_mg is not None]

    @property
    def highest(self) -> CourseStep:
        """The step with the highest rate; the first of equals."""
        return max(self.steps, key=lambda step: step.percent)


def rolling_courses(
    appliance: Appliance,
    facts: Sequence[Fact],
    *,
    from_on: date,
    to_on: date,
    tables: Tables | None = None,
) -> list[RollingCourse]:
    """The rolling rate under each federal rule that applies in a time, whichever method the facility uses.

    On the day of an addition it is what the rolling average method gives for it. Days on which the rule didn't apply
    yet, or no more, are left out; a rule that applied on none has no course.

    Args:
        appliance: the state before the first fact.
        facts: what happened; those after ``to_on`` are not counted.
        from_on: the first day.
        to_on: the last day.
        tables: the dated numbers of the law; those of fixtures/rules by default.

    Source: 40 CFR 82.152, *Leak rate*, (2) rolling average method; 40 CFR 84.106(b)(2) for the first calculation.
    """
    tables = tables or load_tables()
    timeline = build_timeline(appliance, facts, AskedDay.of(to_on))
    courses = [_course(rule, timeline, from_on, to_on, tables) for rule in (US_FEDERAL_ODS, US_FEDERAL_HFC)]
    return [course for course in courses if course is not None]


def _course(
    rule: str, timeline: Timeline, from_on: date, to_on: date, tables: Tables
) -> RollingCourse | None:
    appliance = timeline.appliance
    reach = Reach(rule, tables, lambda state, on: verdict(rule, appliance, state, on, tables))
    life = lifetime(timeline, reach)
    if not life.ever:
        return None
    starts_on = max(from_on, tables.effective_from(rule), life.start(appliance.installed_on) or from_on)
    ends_on = min(to_on, life.ended_on or to_on)
    if starts_on > ends_on:
        return None
    season = tables.row(rule, "seasonal_variance_period", on=ends_on)
    additions = collect_additions(timeline, season)
    window = _Window(rule, timeline, additions, reach, tables)
    threshold = tables.row(rule, "leak_rate_threshold", on=ends_on, category=appliance.category)
    return RollingCourse(
        rule=rule,
        threshold_pct=threshold.number,
        citation=threshold.citation,
        steps=tuple(window.steps(starts_on, ends_on)),
        ends_on=ends_on,
        began_anew_on=tuple(on for on in additions.epoch_starts if starts_on <= on <= ends_on),
        notes=tuple(window.notes(starts_on)),
    )


class _Window:
    """The window of a rule as it moves over an appliance's additions."""

    def __init__(
        self, rule: str, timeline: Timeline, additions: CollectedAdditions, reach: Reach, tables: Tables
    ) -> None:
        self._timeline = timeline
        self._threshold = partial(
            tables.row, rule, "leak_rate_threshold", category=timeline.appliance.category
        )
        self._additions = [addition for addition in additions.rows if addition.is_counted]
        self._days = [addition.on for addition in self._additions]
        self._epoch_starts = additions.epoch_starts
        self._period = timedelta(days=tables.row(rule, "annual_period", on=timeline.as_of).count)
        self._first_from: Row | None = tables.find(rule, "first_calculation_from", on=timeline.as_of)
        rated = [
            place
            for place, addition in enumerate(self._additions)
            if reach.applies(addition.state, addition.on)
        ]
        #: How many additions there are before the second that is rated; all unless there are two.
        self._first_count = rated[1] if len(rated) > 1 else len(self._additions)

    def steps(self, starts_on: date, ends_on: date) -> Iterator[CourseStep]:
        """One for each addition, and one for each day that changes the rate otherwise."""
        last: tuple[int, int] | None = None
        for on in self._turning_days(starts_on, ends_on):
            for step in self._steps_of(on):
                figures = (step.counted_mg, step.full_charge_mg)
                if step.added_mg is not None or figures != last:
                    yield step
                last = figures

    def notes(self, starts_on: date) -> Iterator[str]:
        """The choices that these figures rest on."""
        yield f"{policy.WINDOW_INCLUDES_ITS_DAY.sentence}."
        if any(on >= starts_on for on in self._epoch_starts):
            yield f"{policy.WINDOW_BEGINS_ANEW.sentence}."
        first = self._first_from
        if first is not None and any(first.day - self._period < on < first.day for on in self._days):
            yield f"{policy.LATER_WINDOWS_REACH_BACK.sentence} ({first.citation})."

    def _turning_days(self, starts_on: date, ends_on: date) -> list[date]:
        """The first day, and those on which something is added, leaves the window, begins anew or is redetermined."""
        moments = self._timeline.moments
        states = [self._timeline.initial_state, *(moment.state for moment in moments)]
        recharged = (
            moment.fact.on
            for before, moment in zip(states, moments, strict=False)
            if before.full_charge_mg != moment.state.full_charge_mg
        )
        days = {
            starts_on,
            *self._days,
            *(on + self._period for on in self._days),
            *self._epoch_starts,
            *recharged,
        }
        return sorted(on for on in days if starts_on <= on <= ends_on)

    def _steps_of(self, on: date) -> Iterator[CourseStep]:
        first, count = (self._days.index(on), bisect_right(self._days, on)) if on in self._days else (0, 0)
        for place in range(first, count):
            addition = self._additions[place]
            step = self._step(on, place + 1, addition.epoch, addition.state.full_charge_mg)
            yield replace(step, added_mg=addition.net_mg, event=addition.event)
        epoch, count = bisect_right(self._epoch_starts, on), bisect_right(self._days, on)
        yield self._step(on, count, epoch, self._timeline.state_on(on).full_charge_mg)

    def _step(self, on: date, count: int, epoch: int, full_charge_mg: int) -> CourseStep:
        """What counts on a day of the first so many additions."""
        window = self._in_window(on, count, epoch)
        counted_mg = sum(addition.net_mg for addition in window)
        tolerance_mg = policy.RESOLUTION.value * sum(addition.entries for addition in window)
        threshold = self._threshold(on=on).number
        is_over = (counted_mg - tolerance_mg) * 100 > threshold * full_charge_mg
        return CourseStep(on, counted_mg, full_charge_mg, is_over)

    def _in_window(self, on: date, count: int, epoch: int) -> list[Addition]:
        since = on - self._period + timedelta(days=1)
        if self._first_from is not None and count <= self._first_count:
            since = max(since, self._first_from.day)
        additions = self._additions[:count]
        return [addition for addition in additions if addition.epoch == epoch and addition.on >= since]
