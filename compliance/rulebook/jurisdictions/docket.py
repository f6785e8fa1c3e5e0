"""What following one rule through the facts writes down: duties, warnings, clocks, and whether it is mothballed."""

from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.dates import add_days, add_months, add_years
from compliance.rulebook.duties import Clock, Duty
from compliance.rulebook.results import Obligation, ObligationKind
from compliance.rulebook.tables import Row, Tables
from compliance.rulebook.timeline import Timeline


class Docket:
    """Duties of one rule for one appliance, in the order they opened, and the clocks that mothballing stops."""

    def __init__(self, rule: str, timeline: Timeline, tables: Tables) -> None:
        self.rule = rule
        self.timeline = timeline
        self.mothballed_on: date | None = None
        self.warnings: list[str] = []
        self._tables = tables
        self._duties: list[Duty] = []
        self._clocks: list[Clock] = []

    def row(self, key: str, on: date) -> Row:
        """The rule's number in force on a day, for this category of appliance."""
        return self._tables.row(self.rule, key, on=on, category=self.timeline.appliance.category)

    def find_row(self, key: str, on: date, *, full_charge_mg: int | None = None) -> Row | None:
        """The same where there may be none, and where a band of charge may decide."""
        category = self.timeline.appliance.category
        return self._tables.find(self.rule, key, on=on, category=category, full_charge_mg=full_charge_mg)

    def clock(self, base_on: date | None, opened_on: date) -> Clock:
        """A clock that mothballing stops; one that starts on a mothballed appliance stands still from the start."""
        clock = Clock(base_on)
        if self.mothballed_on is not None:
            clock.suspend(opened_on)
        self._clocks.append(clock)
        return clock

    def open(
        self, kind: ObligationKind, row: Row, on: date, clock: Clock, because: str, event: str | None
    ) -> Duty:
        duty = Duty(
            rule=self.rule,
            kind=kind,
            opened_on=on,
            clock=clock,
            citation=row.citation,
            sentences=[because],
            is_confirmed=row.is_confirmed,
            opened_by_event=event,
        )
        self._duties.append(duty)
        return duty

    def warn(self, sentence: str) -> None:
        if sentence not in self.warnings:
            self.warnings.append(sentence)

    def mothball(self, on: date) -> None:
        self.mothballed_on = self.mothballed_on or on
        for clock in self._clocks:
            clock.suspend(on)

    def resume(self, on: date) -> None:
        """Refrigerant was added: clocks that stood still go on with the days that were left."""
        if self.mothballed_on is None:
            return
        resumed = [id(clock) for clock in self._clocks if clock.resume(on)]
        for duty in self._duties:
            if duty.is_pending and id(duty.clock) in resumed and duty.clock.due_on is not None:
                days = (on - self.mothballed_on).days
                duty.note(
                    f"Mothballed on {self.mothballed_on}, refrigerant added on {on}: {days} days later, due "
                    f"{duty.clock.due_on} ({policy.MOTHBALL_SUSPENDS})."
                )
        self.mothballed_on = None

    def cancel_pending(self, sentence: str) -> None:
        for duty in self._duties:
            if duty.is_pending:
                duty.cancel(sentence)

    def finish(self) -> list[Obligation]:
        return [duty.finish(self.timeline.as_of) for duty in self._duties]


def after(on: date, row: Row) -> date:
    """The day a row's days, months or years after another day."""
    unit = row.unit.removesuffix("s")
    if unit == "day":
        return add_days(on, row.count)
    return add_months(on, row.count) if unit == "month" else add_years(on, row.count)


def reckoned(on: date, row: Row) -> str:
    """The arithmetic of a due date: ``2026-03-02 + 30 days = 2026-04-01``."""
    return f"{on} + {row.in_words} = {after(on, row)}"
