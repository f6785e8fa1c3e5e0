"""Leak inspections after an exceeded leak rate: their grid of due dates, when it ends, and what meets or waives one."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from compliance.rulebook import policy
from compliance.rulebook.duties import Clock, Duty, Ending
from compliance.rulebook.facts import Fact, FactKind
from compliance.rulebook.grounds import Ground
from compliance.rulebook.jurisdictions.docket import Docket, after, reckoned
from compliance.rulebook.jurisdictions.inspection_chain import first_after, waiving
from compliance.rulebook.jurisdictions.lifetime import Lifetime
from compliance.rulebook.jurisdictions.us_federal.detection import waiver, waiver_rests_on
from compliance.rulebook.results import LeakRate, ObligationKind
from compliance.rulebook.rules import US_FEDERAL_ODS
from compliance.rulebook.tables import Row

_DAY = timedelta(days=1)


@dataclass(frozen=True)
class _Grid:
    """Due dates from one start: ``interval`` apart, or the last day of each calendar year."""

    starts_on: date
    event: str | None
    interval: Row
    periods_under: Row
    is_by_calendar_year: bool

    def due_on(self, number: int) -> date:
        """The due date of the row of that number, the first being 1."""
        if self.is_by_calendar_year:
            return date(self.starts_on.year + number - 1, 12, 31)
        return after(self.starts_on, self.interval, number)

    def because(self, number: int) -> str:
        """How often, how the due date of the row of that number is reckoned, and until when."""
        if self.is_by_calendar_year:
            often, due = "once in each calendar year", f"Due by {self.due_on(number)}."
        else:
            often = f"every {self.interval.in_words.removeprefix('1 ')}"
            due = f"{reckoned(self.starts_on, self.interval, number)}."
        since = "exceedance" if self.interval.rule == US_FEDERAL_ODS else "passed follow-up test"
        enough = f"{self.periods_under.in_words}{' in a row' if self.periods_under.count > 1 else ''}"
        under = policy.NO_ADDITION_IS_UNDER.wording
        if self.is_by_calendar_year:
            under += f"; {policy.CALENDAR_YEAR_OF_EXCESS}"
        return (
            f"Inspect {often} from the {since} of {self.starts_on} on. {due} "
            f"The inspections end after {enough} without a rate over the threshold; {under}."
        )


class Inspections:
    """Opens the leak inspections of one rule.

    Source: 40 CFR 82.157(g) (from the exceedance), 40 CFR 84.106(g) (from the passed follow-up test).
    """

    def __init__(self, docket: Docket, rates: Sequence[LeakRate], life: Lifetime) -> None:
        self._docket = docket
        self._as_of = docket.timeline.as_of
        self._exceeded = [rate for rate in rates if rate.exceeds]
        # Every rate, over or not, has a say in when the inspections end.
        self._rates_rest_on = [ground for rate in rates for ground in rate.rests_on]
        self._inspected = docket.timeline.of_kind(FactKind.LEAK_INSPECTION)
        self._life = life

    def open_from_follow_ups(self, passed: Sequence[Fact], *, rests_on: Sequence[Ground]) -> None:
        """The grid begins anew at each passed follow-up test of all leaks, by which rows its case came."""
        self._rates_rest_on += rests_on
        for index, fact in enumerate(passed):
            superseded_on = passed[index + 1].on if index + 1 < len(passed) else None
            self._open_grid(self._grid(fact.on, fact.event), superseded_on)

    def open_from_exceedances(self) -> None:
        """A grid begins at an exceedance that falls outside the one before it."""
        last_on: date | None = None
        for rate in self._exceeded:
            if last_on is None or rate.on > last_on:
                last_on = self._open_grid(self._grid(rate.on, rate.event), None)

    def _grid(self, on: date, event: str | None) -> _Grid:
        charge_mg = self._docket.timeline.state_on(on).full_charge_mg
        interval = self._docket.row("leak_inspection_interval", on, full_charge_mg=charge_mg)
        periods_under = self._docket.row("leak_inspection_periods_under", on, full_charge_mg=charge_mg)
        is_by_calendar_year = self._docket.rule == US_FEDERAL_ODS and interval.unit == "year"
        return _Grid(on, event, interval, periods_under, is_by_calendar_year)

    def _open_grid(self, grid: _Grid, superseded_on: date | None) -> date:
        """Opens every past due date and the next one; returns the last day the grid covers."""
        last_on = grid.starts_on
        for number, previous_on, due_on in self._periods(grid):
            if superseded_on is not None and previous_on >= superseded_on:
                return superseded_on
            if not self._life.runs_on(previous_on):
                return previous_on
            duty = self._open(grid, number, previous_on, due_on)
            done = first_after(self._inspected, self._counts_after(number, previous_on))
            duty.settle(done, "Inspected", self._ending(due_on, superseded_on))
            last_on = due_on
        return last_on

    def _periods(self, grid: _Grid) -> Iterator[tuple[int, date, date]]:
        """Periods until enough in a row had no rate over, or up to the first due date not yet past."""
        number, in_a_row, previous_on = 1, 0, grid.starts_on
        while in_a_row < grid.periods_under.count:
            due_on = grid.due_on(number)
            yield number, previous_on, due_on
            if due_on >= self._as_of:
                return
            first_on = previous_on if grid.is_by_calendar_year and number == 1 else previous_on + _DAY
            is_over = any(first_on <= rate.on <= due_on for rate in self._exceeded)
            in_a_row = 0 if is_over else in_a_row + 1
            number, previous_on = number + 1, due_on

    def _open(self, grid: _Grid, number: int, previous_on: date, due_on: date) -> Duty:
        because = grid.because(number)
        if self._docket.timeline.of_kind(FactKind.MOTHBALLED):
            because += f" {policy.MOTHBALL_SPARES_INSPECTIONS.sentence}."
        event = grid.event if number == 1 else None
        clock = Clock(due_on)
        return self._docket.open(
            ObligationKind.LEAK_INSPECTION,
            grid.interval,
            previous_on,
            clock,
            because,
            event,
            rests_on=[grid.periods_under, *self._rates_rest_on, *waiver_rests_on(self._docket, due_on)],
        )

    def _counts_after(self, number: int, previous_on: date) -> date:
        """The day after which an inspection counts: the previous due date; the day of an exceedance counts itself.

        Only for the first row: an exceedance of 31 December is the first year's due date too, and one inspection
        on that day is not the next year's.
        """
        counts_itself = number == 1 and self._docket.rule == US_FEDERAL_ODS
        return previous_on - _DAY if counts_itself else previous_on

    def _ending(self, due_on: date, superseded_on: date | None) -> Ending | None:
        """Why a row is no longer owed: a new count began, the appliance or the rule ended, or detection replaces it."""
        if superseded_on is not None and due_on > superseded_on:
            return Ending(superseded_on, f"The follow-up test of {superseded_on} begins a new count.")
        return self._life.ending(due_on) or waiving(due_on, waiver(self._docket, due_on))
