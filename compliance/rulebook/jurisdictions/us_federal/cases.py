"""Follows one federal rule through the facts of one appliance: when cases open, what moves them, when they close."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.duties import Duty
from compliance.rulebook.facts import FEDERAL_EXTENSION_BASES, Fact, FactKind
from compliance.rulebook.grounds import Ground
from compliance.rulebook.jurisdictions.docket import Docket, after
from compliance.rulebook.jurisdictions.us_federal.plan_process import PlanProcess
from compliance.rulebook.jurisdictions.us_federal.repair_cycle import RepairCycle
from compliance.rulebook.results import LeakRate
from compliance.rulebook.rules import US_FEDERAL_ODS

_TO_CYCLE = {
    FactKind.LEAK_INSPECTION: RepairCycle.take_inspection,
    FactKind.REPAIR: RepairCycle.take_repair,
    FactKind.INITIAL_VERIFICATION_TEST: RepairCycle.take_initial_test,
    FactKind.NORMAL_OPERATION: RepairCycle.take_normal_operation,
}


class Cases:
    """The states of one rule: nothing over, a repair cycle open, waiting for the next addition to confirm, a plan.

    Source: 40 CFR 82.157(d) to (i), 40 CFR 84.106(d) to (i).
    """

    def __init__(self, docket: Docket) -> None:
        self._docket = docket
        self._cycle: RepairCycle | None = None
        self._plan: PlanProcess | None = None
        self._unconfirmed_until: date | None = None
        self._shutdown: Fact | None = None
        self._unclaimed: list[Fact] = []
        self._relief_repairs: list[Duty] = []
        # What relief from a plan rests on, without which later rates would open no case of their own.
        self._relieved_by: list[Ground] = []
        self._requests: list[Fact] = []
        self.passed_follow_ups: list[Fact] = []
        self.follow_ups_rest_on: list[Ground] = []

    def follow(self, rates: Sequence[LeakRate]) -> None:
        """Takes in every fact in order, then lets time go on to the day asked about."""
        by_position: Mapping[int, LeakRate] = {rate.position: rate for rate in rates}
        for moment in self._docket.timeline.moments:
            self._pass_to(moment.fact.on)
            self._take(moment.fact)
            if moment.position in by_position:
                self._rate(by_position[moment.position])
        self._pass_to(self._docket.timeline.as_of)

    def _take(self, fact: Fact) -> None:
        if fact.kind is FactKind.ADDITION:
            self._add(fact)
        elif fact.kind in _TO_CYCLE:
            self._work(fact)
        elif fact.kind is FactKind.FOLLOW_UP_VERIFICATION_TEST:
            self._follow_up(fact)
        elif fact.kind is FactKind.INDUSTRIAL_PROCESS_SHUTDOWN_REQUIRED:
            self._shut_down(fact)
        elif fact.kind is FactKind.EXTENSION:
            self._extend(fact)
        elif fact.kind is FactKind.MOTHBALLED:
            self._docket.mothball(fact.on)
        else:
            self._take_plan_fact(fact)

    def _take_plan_fact(self, fact: Fact) -> None:
        if fact.kind is FactKind.RETROFIT_OR_RETIREMENT_ELECTED:
            self._elect(fact)
        elif fact.kind is FactKind.RETROFIT_OR_RETIREMENT_PLAN:
            self._elect(fact)
            if self._plan is not None:
                self._plan.file(fact)
        elif fact.kind in (FactKind.RETROFITTED, FactKind.RETIRED):
            self._complete(fact)
        elif fact.kind is FactKind.AGENCY_ANSWER:
            self._answer(fact)
        elif fact.kind in (FactKind.RELIEF_REQUESTED, FactKind.PLAN_EXTENSION):
            if self._plan is None:
                self._docket.had_none(fact, "has no plan under way")
            else:
                self._requests.append(fact)
                self._plan.ask(fact)

    def _answer(self, fact: Fact) -> None:
        """Hands the agency's answer to the newest request that has none (``policy.ANSWER_TO_NEWEST``)."""
        for asked in reversed(self._requests):
            if self._plan is not None and self._plan.awaits_answer_to(asked):
                if self._plan.answer(fact):
                    self._relieve(self._plan)
                return
            if self._cycle is not None and not self._cycle.is_closed and self._cycle.awaits_answer_to(asked):
                self._cycle.answer(asked, fact)
                return
        self._docket.had_none(fact, f"belongs to no request that waits for it: {policy.ANSWER_TO_NEWEST}")

    def _pass_to(self, on: date) -> None:
        """Lets time go on to the morning of ``on``: lapses and silent approvals that came before it."""
        if self._plan is not None and self._plan.pass_to(on):
            self._relieve(self._plan)
        if self._cycle is not None and self._plan is None and self._cycle.has_lapsed(on):
            self._plan = PlanProcess(self._docket, self._cycle, policy.PLAN_WHEN_NOTHING_DONE.sentence)

    def _relieve(self, plan: PlanProcess) -> None:
        """The plan is over; the repair that its relief was promised for is owed from now on."""
        if plan.completion is not None:
            self._relieved_by = plan.completion.rests_on
        if plan.relief_repair is not None:
            self._relief_repairs.append(plan.relief_repair)
        self._plan = None

    def _work(self, fact: Fact) -> None:
        """Hands work to the open case; work of a day on which one opens later counts too."""
        if fact.kind is FactKind.REPAIR:
            for duty in self._relief_repairs:
                if duty.is_pending:
                    duty.meet(fact.on, fact.event, f"Repaired on {fact.on}.")
        if self._cycle is not None and not self._cycle.is_closed:
            _TO_CYCLE[fact.kind](self._cycle, fact)
        else:
            self._unclaimed.append(fact)

    def _add(self, fact: Fact) -> None:
        self._docket.resume(fact.on)
        if self._cycle is not None and not self._cycle.is_closed:
            self._cycle.take_addition(fact)

    def _rate(self, rate: LeakRate) -> None:
        """A calculated rate: over opens a case unless one is open; not over confirms an earlier repair."""
        if not rate.exceeds:
            self._unconfirmed_until = None
            return
        if self._plan is not None and self._plan.is_active:
            return
        if self._cycle is not None and not self._cycle.is_closed:
            self._cycle.note_later_excess(rate)
            return
        is_still_over = self._unconfirmed_until is not None and rate.on <= self._unconfirmed_until
        came_by = list(self._relieved_by)
        if self._unconfirmed_until is not None:
            came_by.append(self._docket.row("presumed_repaired", rate.on))
        self._unconfirmed_until = None
        self._cycle = RepairCycle(self._docket, replace(rate, rests_on=(*rate.rests_on, *came_by)))
        if self._shutdown is not None and self._shutdown.on == rate.on:
            self._cycle.take_shutdown(self._shutdown)
        for fact in self._unclaimed:
            if fact.on == rate.on:
                _TO_CYCLE[fact.kind](self._cycle, fact)
                self._cycle.repair.note(f"{policy.SAME_DAY_WORK_COUNTS.sentence}.")
        self._unclaimed = []
        if is_still_over and self._plan is None:
            self._plan = PlanProcess(self._docket, self._cycle, policy.PLAN_WHEN_STILL_OVER.sentence)

    def _follow_up(self, fact: Fact) -> None:
        if self._cycle is None or self._cycle.is_closed:
            return
        if self._cycle.take_follow_up_test(fact):
            self.passed_follow_ups.append(fact)
            self.follow_ups_rest_on += self._cycle.rate.rests_on
        if self._cycle.is_closed:
            self._unconfirmed_until = after(
                self._repaired_on(fact), self._docket.row("presumed_repaired", fact.on)
            )

    def _repaired_on(self, follow_up: Fact) -> date:
        """From when a year without additions shows the repair to hold: the repair (82.157) or the test (84.106)."""
        is_ods = self._docket.rule == US_FEDERAL_ODS
        repaired_on = self._cycle.last_repair_on if self._cycle is not None and is_ods else None
        return repaired_on or follow_up.on

    def _shut_down(self, fact: Fact) -> None:
        self._shutdown = fact
        if self._cycle is not None and not self._cycle.is_closed:
            self._cycle.take_shutdown(fact)

    def _extend(self, fact: Fact) -> None:
        if fact.basis not in FEDERAL_EXTENSION_BASES:
            self._docket.had_none(fact, "is on a ground of another rule")
        elif self._cycle is None or self._cycle.is_closed:
            self._docket.had_none(fact, "concerns no open case")
        else:
            self._requests.append(fact)
            self._cycle.extend(fact)

    def _elect(self, fact: Fact) -> None:
        cycle = self._cycle
        if cycle is None or (self._plan is None and cycle.is_closed):
            self._docket.had_none(fact, "concerns no open case")
            return
        self._docket.had_effect(fact)
        if self._plan is None:
            self._plan = PlanProcess(self._docket, cycle, f"Retrofit or retirement was elected on {fact.on}")
        self._plan.is_elected = True
        cycle.cancel(f"Cancelled on {fact.on}: {policy.PLAN_IS_ELECTION}.")

    def _complete(self, fact: Fact) -> None:
        if self._plan is not None:
            self._plan.complete(fact)
        self._docket.cancel_pending(f"The appliance was {fact.kind.value} on {fact.on}.")
        self._cycle = self._plan = self._unconfirmed_until = None
