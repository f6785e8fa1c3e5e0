"""What following one rule through the facts writes down: duties, warnings, clocks, and whether it is mothballed."""

from collections.abc import Callable, Iterable, Sequence
from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.dates import add_days, add_months, add_years
from compliance.rulebook.duties import Clock, Duty
from compliance.rulebook.editions import OncePerEdition
from compliance.rulebook.facts import Fact
from compliance.rulebook.grounds import Ground
from compliance.rulebook.results import LeakRate, ObligationKind, RuleAssessment, RuleHeadroom, RuleVerdict
from compliance.rulebook.retention import record_retention
from compliance.rulebook.tables import Row, TableError, Tables
from compliance.rulebook.timeline import Timeline


class Docket:
    """Duties of one rule for one appliance, in the order they opened, and the clocks that mothballing stops.

    ``scope_on`` says which rows bring the appliance within the rule on a day; every duty rests on them.
    """

    def __init__(self, rule: str, timeline: Timeline, tables: Tables) -> None:
        self.rule = rule
        self.timeline = timeline
        self.scope_on: Callable[[date], Sequence[Ground]] = lambda _: ()
        self.mothballed_on: date | None = None
        self._warnings: list[str] = []
        self._had_effect: set[Fact] = set()
        self._without_effect: list[tuple[Fact, str]] = []
        self._tables = tables
        self._duties: list[Duty] = []
        self._clocks: list[Clock] = []
        self._rows: OncePerEdition[tuple[str, int | None], Row | None] = OncePerEdition(rule, tables)

    @property
    def begins_on(self) -> date:
        """The first day of the rule."""
        return self._tables.effective_from(self.rule)

    def row(self, key: str, on: date, *, full_charge_mg: int | None = None) -> Row:
        """The rule's number in force on a day, for this category of appliance and, if given, this full charge."""
        found = self.find_row(key, on, full_charge_mg=full_charge_mg)
        if found is None:
            raise TableError(f"no row for {self.rule} {key} on {on.isoformat()}, {full_charge_mg} mg")
        return found

    def find_row(self, key: str, on: date, *, full_charge_mg: int | None = None) -> Row | None:
        """The same where there may be none."""
        category = self.timeline.appliance.category
        return self._rows.get(
            (key, full_charge_mg),
            on,
            lambda: self._tables.find(
                self.rule, key, on=on, category=category, full_charge_mg=full_charge_mg
            ),
        )

    @property
    def warnings(self) -> tuple[str, ...]:
        return tuple(self._warnings)

    def clock(self, base_on: date | None, opened_on: date) -> Clock:
        """A clock that mothballing stops; one that starts on a mothballed appliance stands still from the start."""
        clock = Clock(base_on)
        if self.mothballed_on is not None:
            clock.suspend(opened_on)
        self._clocks.append(clock)
        return clock

    def open(
        self,
        kind: ObligationKind,
        row: Row,
        on: date,
        clock: Clock,
        because: str,
        event: str | None,
        *,
        rests_on: Iterable[Ground] = (),
    ) -> Duty:
        """Writes a duty down, with the row that gives its date and whatever else decided that it is owed."""
        duty = Duty(
            rule=self.rule,
            kind=kind,
            opened_on=on,
            clock=clock,
            citation=row.citation,
            sentences=[because],
            rests_on=[row, *self.scope_on(on), *rests_on],
            opened_by_event=event,
        )
        self._duties.append(duty)
        return duty

    def warn(self, sentence: str) -> None:
        if sentence not in self._warnings:
            self._warnings.append(sentence)

    def had_effect(self, fact: Fact) -> None:
        """Notes that a filing concerned something open under this rule."""
        self._had_effect.add(fact)

    def had_none(self, fact: Fact, why: str) -> None:
        """Notes that a filing had no effect under this rule, which is a warning if no other rule had use for it."""
        what = fact.kind.value.replace("_", " ")
        self._without_effect.append((fact, f"The {what} of {fact.on} {why}; it has no effect."))

    def mothball(self, on: date) -> None:
        self.mothballed_on = self.mothballed_on or on
        for clock in self._clocks:
            clock.suspend(on)

    def resume(self, on: date) -> None:
        """Refrigerant was added: clocks that stood still go on with the days that were left."""
        if self.mothballed_on is None:
            return
        held_up_days: dict[int, int] = {}
        for clock in self._clocks:
            if clock.suspended_on is not None:
                held_up_days[id(clock)] = clock.resume(on).days
        for duty in self._duties:
            days = held_up_days.get(id(duty.clock))
            if duty.is_pending and days is not None and duty.clock.due_on is not None:
                duty.note(
                    f"Mothballed on {self.mothballed_on}, refrigerant added on {on}: "
                    f"{add_days(duty.clock.due_on, -days)} + {days} days = {duty.clock.due_on}. "
                    f"{policy.MOTHBALL_SUSPENDS.sentence}."
                )
        self.mothballed_on = None

    def cancel_pending(self, sentence: str) -> None:
        for duty in self._duties:
            if duty.is_pending:
                duty.cancel(sentence)

    def finish(
        self,
        verdict: RuleVerdict,
        *,
        leak_rates: Sequence[LeakRate] = (),
        headroom: RuleHeadroom | None = None,
    ) -> RuleAssessment:
        """All that the rule makes of the appliance, down to how long its records are kept."""
        as_of = self.timeline.as_of
        obligations = [duty.finish(as_of) for duty in self._duties]
        retention = record_retention(
            self.rule, self.timeline, self.row("record_retention", as_of), scope=self.scope_on(as_of)
        )
        return RuleAssessment(
            verdict=verdict,
            leak_rates=tuple(leak_rates),
            obligations=(*obligations, *retention),
            headroom=headroom,
            warnings=self.warnings,
            had_effect=frozenset(self._had_effect),
            without_effect=tuple(self._without_effect),
        )


def after(on: date, row: Row, times: int = 1) -> date:
    """The day a row's days, months or years after another day, or so many times as long after it."""
    count = times * row.count
    if row.unit in ("day", "days"):
        return add_days(on, count)
    return add_months(on, count) if row.unit in ("month", "months") else add_years(on, count)


def reckoned(on: date, row: Row, times: int = 1) -> str:
    """The arithmetic of a due date: ``2026-03-02 + 30 days = 2026-04-01``."""
    span = row.in_words if times == 1 else f"{times * row.count} {row.unit.removesuffix('s')}s"
    return f"{on} + {span} = {after(on, row, times)}"
