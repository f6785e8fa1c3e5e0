"""Repair, verification, plan and completion of one federal rule, one day after another.

Source: 40 CFR 82.157(d) to (i) and 84.106(d) to (i), with the documented choices where the text leaves room. What the
choices don't say raises Unsettled rather than guess.
"""

from dataclasses import dataclass, field
from datetime import date, timedelta

from tests.oracle.named_leaks import NamedLeaks
from tests.oracle.owed import Clock, Row
from tests.oracle.plan_requests import PlanRequests
from tests.oracle.rates import HFC, ODS, LeakRates
from tests.oracle.records import Fact, Unsettled, months_later

DONE_BEFORE_CHARGING = {
    "leak_inspection",
    "repair",
    "initial_verification_test",
    "normal_operation",
    "industrial_process_shutdown_required",
}


@dataclass
class Case:
    """One exceedance: its repair and tests, until the follow-up test passes or retrofit or retirement takes over."""

    exceeded_on: date
    clock: Clock
    plan_clock: Clock
    repair: Row
    initial: Row
    follow_up: Row | None = None
    is_anything_done: bool = False
    has_shutdown: bool = False
    is_extended: bool = False
    # Each extension with its last day, until the agency refuses it; those it hasn't answered wait.
    extensions: list[tuple[Fact, date]] = field(default_factory=list)
    unanswered: list[Fact] = field(default_factory=list)
    was_stopped: bool = False
    repaired_on: date | None = None
    evacuations: list[bool] = field(default_factory=list)
    is_normal_since_repair: bool = False
    leaks: NamedLeaks = field(default_factory=NamedLeaks)
    # 30 days after the delivery of parts, the latest possible day while it isn't known.
    parts_on: date | None = None
    other_due_on: date | None = None

    @property
    def due_by_days(self) -> date:
        return self.exceeded_on + timedelta(days=120 if self.has_shutdown else 30)

    @property
    def due_by_parts(self) -> date | None:
        """Never after the cap of an extension for parts, which is higher with a shutdown."""
        if self.parts_on is None:
            return None
        return min(self.parts_on, self.exceeded_on + timedelta(days=270 if self.has_shutdown else 180))

    def refuse(self, asked: Fact) -> None:
        """What (f)(4) approves unless the agency says otherwise isn't approved: what else was given still counts."""
        self.extensions = [(fact, last) for fact, last in self.extensions if fact.order != asked.order]
        for_parts = [last for fact, last in self.extensions if fact.detail["basis"] == "parts"]
        others = [last for fact, last in self.extensions if fact.detail["basis"] != "parts"]
        self.parts_on = for_parts[-1] if for_parts else None
        self.other_due_on = max(others, default=None)
        self.clock.due_on = max(
            self.due_by_days, self.due_by_parts or date.min, self.other_due_on or date.min
        )


class RepairCases:
    """Runs the days of one appliance under one rule and keeps every row."""

    def __init__(self, rates: LeakRates, as_of: date) -> None:
        self.rates, self.rule, self.as_of = rates, rates.rule, as_of
        self.over = {row.order: row.exceeds for row in rates.rows}
        self.rows: list[Row] = []
        self.case: Case | None = None
        self.plan: Row | None = None
        self.completion: Row | None = None
        self.is_elected = False
        self.is_mothballed = False
        self.retired_on: date | None = None
        # The day from which a repaired leak counts as repaired after 12 months without an addition.
        self.repaired_on: date | None = None
        self.follow_ups_passed: list[date] = []
        self.requests = PlanRequests(self)
        self._run()

    def shown(self) -> list[dict[str, object]]:
        return [row.shown(self.as_of, is_mothballed=self.is_mothballed) for row in self.rows]

    def _run(self) -> None:
        facts = self.rates.facts
        if not facts:
            return
        day = facts[0].on
        while day <= self.as_of:
            self._start_of_day(day)
            for fact in facts:
                if fact.on == day:
                    self._take(fact)
            day += timedelta(days=1)

    def open(self, kind: str, day: date, clock: Clock) -> Row:
        row = Row(kind, day, clock)
        self.rows.append(row)
        return row

    def _start_of_day(self, day: date) -> None:
        self.requests.start_of(day)
        self._lapse(day)

    def _lapse(self, day: date) -> None:
        case = self.case
        if case is None or case.is_anything_done or case.extensions or self.plan is not None:
            return
        if case.clock.due_on is not None and case.clock.due_on < day:
            self.plan = self.open("retrofit_or_retirement_plan", case.exceeded_on, case.plan_clock)

    def _take(self, fact: Fact) -> None:
        if self.retired_on is not None:
            raise Unsettled("something after retirement")
        quiet = {
            "addition",
            "removal",
            "leak_inspection",
            "returned_to_service",
            "mothballed",
            "full_charge_change",
        }
        busy = self.case is not None or self.plan is not None or self.completion is not None
        if self.is_mothballed and busy and fact.kind not in quiet | {"repair", "chronic_leak_report_filed"}:
            raise Unsettled(f"{fact.kind} while mothballed")
        self.requests.take(fact)
        handler = getattr(self, f"_on_{fact.kind}", None)
        if handler is not None:
            handler(fact)

    def _clocks(self) -> list[Clock]:
        rows = [self.plan, self.completion, *self.requests.repairs]
        clocks = [row.clock for row in rows if row is not None and row.is_open]
        if self.case is not None:
            clocks += [self.case.clock, self.case.plan_clock]
            if self.case.follow_up is not None and self.case.follow_up.is_open:
                clocks.append(self.case.follow_up.clock)
        return list({id(clock): clock for clock in clocks}.values())

    def _on_mothballed(self, fact: Fact) -> None:
        if self.is_mothballed:
            return
        self.is_mothballed = self.requests.was_stopped = True
        for clock in self._clocks():
            clock.stop(fact.on)
        if self.case is not None:
            self.case.was_stopped = True

    def _on_addition(self, fact: Fact) -> None:
        if self.is_mothballed:
            self.is_mothballed = False
            for clock in self._clocks():
                clock.resume(fact.on)
        if self.case is not None:
            self.case.leaks.add(fact)
        if fact.order in self.over:
            self._calculated(fact, is_over=self.over[fact.order])

    def _calculated(self, fact: Fact, *, is_over: bool) -> None:
        if self.case is not None or self.is_elected:
            return
        day, repaired_on = fact.on, self.repaired_on
        self.repaired_on = None
        if not is_over:
            return
        if repaired_on is not None and self.plan is None and day <= months_later(repaired_on, 12):
            self.plan = self.open("retrofit_or_retirement_plan", day, Clock(day + timedelta(days=30)))
        clock = Clock(day + timedelta(days=30))
        self.case = Case(
            day,
            clock,
            self.plan.clock if self.plan and self.plan.opened_on == day else Clock(day + timedelta(days=30)),
            self.open("repair", day, clock),
            self.open("initial_verification_test", day, clock),
        )
        self.case.leaks.add(fact)
        self._take_what_came_before(fact)

    def _take_what_came_before(self, addition: Fact) -> None:
        """What was done earlier on the day of the addition counts: a leak is often repaired before it is charged."""
        before = [fact for fact in self.rates.facts if fact.on == addition.on and fact.order < addition.order]
        early = [fact for fact in before if fact.kind in DONE_BEFORE_CHARGING]
        if early and any(fact.kind == "follow_up_verification_test" for fact in before):
            raise Unsettled("two cases on one day")
        for fact in early:
            self._take(fact)

    def _on_industrial_process_shutdown_required(self, fact: Fact) -> None:
        case = self.case
        if self.rates.request["appliance"]["category"] != "industrial_process_refrigeration" or case is None:
            return
        if case.was_stopped or not case.initial.is_open:
            raise Unsettled("a shutdown late in a case")
        if case.has_shutdown or fact.on > case.clock.due_on:
            return
        case.has_shutdown = True
        case.clock.due_on = max(
            case.due_by_days, case.due_by_parts or date.min, case.other_due_on or date.min
        )

    def _on_extension(self, fact: Fact) -> None:
        case = self.case
        if case is None or fact.detail["basis"].startswith("california_"):
            return
        if fact.detail["obligation"] != "repair":
            raise Unsettled("an extension of something else than the repair")
        if case.was_stopped or not case.initial.is_open:
            raise Unsettled("an extension late in a case")
        if case.clock.due_on is None or fact.on > case.clock.due_on:
            return
        if fact.detail["basis"] == "parts":
            new = case.exceeded_on + timedelta(days=270 if case.has_shutdown else 180)
            if fact.detail.get("delivered_on") is not None:
                new = min(new, date.fromisoformat(fact.detail["delivered_on"]) + timedelta(days=30))
        else:
            new = date.fromisoformat(fact.detail["until"])
        if case.is_extended and new < case.clock.due_on:
            raise Unsettled("a second extension that is shorter")
        case.is_extended = True
        last = new
        if fact.detail["basis"] == "parts":
            delivered = fact.detail.get("delivered_on")
            last = date.fromisoformat(delivered) + timedelta(days=30) if delivered else date.max
            case.parts_on = last
        else:
            case.other_due_on = new
        case.clock.due_on = max(new, case.clock.due_on)
        case.extensions.append((fact, last))
        case.unanswered.append(fact)

    def take_answer(self, fact: Fact) -> None:
        """The agency's answer to the newest extension without one."""
        case = self.case
        assert case is not None
        asked = case.unanswered.pop()
        if fact.detail["granted"]:
            return
        if case.was_stopped:
            raise Unsettled("an extension refused after mothballing")
        case.refuse(asked)
        self._lapse(fact.on)

    def _on_repair(self, fact: Fact) -> None:
        case = self.case
        if case is None:
            return
        case.repaired_on = fact.on
        case.leaks.add(fact)
        if not case.initial.is_open:
            if fact.detail.get("evacuated", False) != all(case.evacuations):
                raise Unsettled("another repair after the passed test, evacuated otherwise")
            return
        case.is_anything_done = True
        case.evacuations.append(fact.detail.get("evacuated", False))
        case.is_normal_since_repair = False
        if case.repair.is_open:
            case.repair.meet(fact.on)

    def _on_leak_inspection(self, fact: Fact) -> None:
        # To look for the leak is to do something about it: (h)(1)(ii) speaks of identifying or repairing, from memory.
        if self.case is not None:
            self.case.is_anything_done = True

    def _on_normal_operation(self, fact: Fact) -> None:
        case = self.case
        if case is None:
            return
        case.is_normal_since_repair = True
        row = case.follow_up
        if row is not None and row.is_open and row.clock.due_on is None and not case.initial.is_open:
            row.clock.due_on = fact.on + timedelta(days=10)

    def _on_initial_verification_test(self, fact: Fact) -> None:
        case = self.case
        if case is None:
            return
        if case.repair.is_open:
            raise Unsettled("an initial test without a repair")
        has_passed = case.leaks.test(fact)
        if not case.initial.is_open:
            if not fact.detail["passed"]:
                raise Unsettled("a failed initial test after a passed one")
            return
        if not fact.detail["passed"]:
            case.initial.end("failed")
            case.repair.reopen()
            case.evacuations.clear()
            case.initial = self.open("initial_verification_test", fact.on, case.clock)
            return
        case.is_anything_done = True
        if not has_passed:
            return
        case.initial.meet(fact.on)
        if case.follow_up is None or not case.follow_up.is_open:
            case.follow_up = self.open("follow_up_verification_test", fact.on, Clock(None))
        case.follow_up.clock.due_on = self._follow_up_due(case, fact.on)

    def _follow_up_due(self, case: Case, passed_on: date) -> date | None:
        if len(set(case.evacuations)) > 1:
            raise Unsettled("repairs of one test, evacuated and not")
        if not case.evacuations[0]:
            return passed_on + timedelta(days=10)
        if case.is_normal_since_repair:
            raise Unsettled("normal operation before the initial test")
        return None

    def _on_follow_up_verification_test(self, fact: Fact) -> None:
        case = self.case
        if case is None:
            return
        has_passed = case.leaks.test(fact)
        if case.follow_up is None or case.initial.is_open:
            raise Unsettled("a follow-up test without a passed initial test")
        if not fact.detail["passed"]:
            case.follow_up.end("failed")
            case.repair.reopen()
            case.initial.reopen()
            case.evacuations.clear()
            case.follow_up = self.open("follow_up_verification_test", fact.on, Clock(None))
        elif has_passed:
            case.follow_up.meet(fact.on)
            self.follow_ups_passed.append(fact.on)
            self.repaired_on = fact.on if self.rule == HFC else case.repaired_on
            self.case = None

    def _on_retrofit_or_retirement_elected(self, fact: Fact) -> None:
        case = self.case
        if case is None and self.plan is None:
            return
        if self.plan is None:
            self.plan = self.open("retrofit_or_retirement_plan", case.exceeded_on, case.plan_clock)
        self._cancel_case()
        self.is_elected = True

    def _cancel_case(self) -> None:
        if self.case is None:
            return
        for row in (self.case.repair, self.case.initial, self.case.follow_up):
            if row is not None and row.is_open:
                row.end("cancelled")
        self.case = None
        self.repaired_on = None

    def _on_retrofit_or_retirement_plan(self, fact: Fact) -> None:
        if self.completion is not None:
            return
        self._on_retrofit_or_retirement_elected(fact)
        if self.plan is None:
            return
        self.is_elected = True
        due = self.plan.clock.due_on
        assert due is not None
        self.plan.meet(fact.on)
        finish = months_later(fact.on, 12)
        if self.rule == ODS:
            finish = min(finish, months_later(due, 13))
        self.completion = self.open("retrofit_or_retirement", fact.on, Clock(finish))
        self.requests.plan_is_filed(fact.on)
        self.plan = None

    def _on_retrofitted(self, fact: Fact) -> None:
        self._finish(fact.on)

    def _on_retired(self, fact: Fact) -> None:
        self._finish(fact.on)
        self.retired_on = fact.on

    def _finish(self, day: date) -> None:
        """Retrofitted or retired: the work is done, and nothing else of the old leak is owed."""
        if self.completion is not None:
            self.completion.meet(day)
            self.completion = None
        if self.plan is not None:
            self.plan.end("cancelled")
            self.plan = None
        self._cancel_case()
        for row in self.requests.repairs:
            if row.is_open:
                row.end("cancelled")
        self.requests = PlanRequests(self)
        self.repaired_on = None
        self.is_elected = False
