"""A retrofit or retirement plan: when it is due, its completion, relief and more time (82.157 and 84.106 (h), (i))."""

from dataclasses import dataclass
from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.dates import add_months
from compliance.rulebook.duties import Duty
from compliance.rulebook.facts import Fact, FactKind
from compliance.rulebook.jurisdictions.docket import Docket, after, reckoned
from compliance.rulebook.jurisdictions.us_federal.repair_cycle import RepairCycle
from compliance.rulebook.results import ObligationKind
from compliance.rulebook.tables import Row


@dataclass(frozen=True)
class _Request:
    """Relief or more time asked of the agency, waiting for its answer."""

    fact: Fact
    silence: Row

    @property
    def approved_on(self) -> date:
        return after(self.fact.on, self.silence)


class PlanProcess:
    """From the day a plan is required to its completion, or to relief from it."""

    def __init__(self, docket: Docket, cycle: RepairCycle, trigger: policy.Choice | str) -> None:
        row = docket.row("retrofit_or_retirement_plan", cycle.opened_on)
        because = f"{cycle.over} {trigger}. {reckoned(cycle.opened_on, row)} ({policy.PLAN_FROM_EXCESS})."
        self._docket = docket
        self._cycle = cycle
        self.is_elected = False
        self.filed_on: date | None = None
        self.plan = docket.open(
            ObligationKind.RETROFIT_OR_RETIREMENT_PLAN,
            row,
            cycle.opened_on,
            cycle.plan_clock,
            because,
            cycle.event,
        )
        self.completion: Duty | None = None
        self._relief_clock = docket.clock(None, cycle.opened_on)
        self._request: _Request | None = None
        self._is_extended = False

    @property
    def is_active(self) -> bool:
        """Whether retrofitting or retiring has been chosen, so that repairs aren't owed meanwhile."""
        return self.is_elected or self.filed_on is not None

    def file(self, fact: Fact) -> None:
        """Meets the plan and opens its completion."""
        if self.filed_on is not None:
            self._docket.warn(
                f"The plan of {fact.on} comes after the one of {self.filed_on}, which keeps its dates."
            )
            return
        self.filed_on = fact.on
        plan_due_on = self.plan.clock.nominal_on
        self.plan.meet(fact.on, fact.event, f"The plan is dated {fact.on}.")
        row = self._docket.row("retrofit_or_retirement", fact.on)
        due_on, words = after(fact.on, row), reckoned(fact.on, row)
        cap = self._docket.find_row("retrofit_or_retirement_cap", fact.on)
        if cap is not None and plan_due_on is not None:
            cap_on = add_months(plan_due_on, cap.count)
            words += f", at most {cap.in_words} after the plan was due on {plan_due_on}, {cap_on}"
            due_on = min(due_on, cap_on)
        self.completion = self._docket.open(
            ObligationKind.RETROFIT_OR_RETIREMENT,
            row,
            fact.on,
            self._docket.clock(due_on, fact.on),
            f"The plan is dated {fact.on}. {words}.",
            fact.event,
        )
        self._relief_clock.base_on = after(fact.on, self._docket.row("relief_request", fact.on))

    def ask(self, fact: Fact) -> None:
        """Takes a request for relief or for more time, if it comes in time."""
        is_relief = fact.kind is FactKind.RELIEF_REQUESTED
        what = "request for relief" if is_relief else "request for more time"
        if self.completion is None or not self.completion.is_pending:
            self._docket.warn(f"The {what} of {fact.on} has no plan under way; it has no effect.")
            return
        limit = self._relief_clock if is_relief else self._cycle.request_clock
        if limit.is_past(fact.on) and not (not is_relief and self._may_ask_again(fact)):
            self._docket.warn(f"The {what} of {fact.on} is refused: it was due by {limit.due_on}.")
            return
        silence = self._docket.row("relief_silence" if is_relief else "plan_extension_silence", fact.on)
        self._request = _Request(fact, silence)
        self.completion.note(f"A {what} was filed on {fact.on}.")

    def answer(self, fact: Fact) -> bool:
        """Takes the agency's answer; returns whether it relieved the owner of the plan."""
        if self._request is None:
            self._docket.warn(
                f"The agency's answer of {fact.on} belongs to no request under way; it has no effect."
            )
            return False
        if fact.granted:
            return self._grant(fact.on, "granted")
        assert self.completion is not None
        self.completion.note(f"The agency refused on {fact.on}.")
        self._request = None
        return False

    def pass_to(self, on: date) -> bool:
        """Lets time go on to ``on``: an unanswered request may have become approved. Returns whether that was relief."""
        if self._request is not None and self._request.approved_on < on:
            return self._grant(self._request.approved_on, f"unanswered for {self._request.silence.in_words}")
        return False

    def complete(self, fact: Fact) -> None:
        """The appliance is retrofitted or retired."""
        done = f"{fact.kind.value.capitalize()} on {fact.on}."
        if self.plan.is_pending:
            self.plan.cancel(done)
        if self.completion is not None and self.completion.is_pending:
            self.completion.meet(fact.on, fact.event, done)

    def _may_ask_again(self, fact: Fact) -> bool:
        """A further request for an extended industrial process appliance: before the end of the extension's ninth month."""
        row = self._docket.find_row("plan_extension_further_request", fact.on)
        if (
            row is None
            or not self._is_extended
            or self.completion is None
            or self.completion.clock.base_on is None
        ):
            return False
        return fact.on < after(self.completion.clock.base_on, row)

    def _grant(self, on: date, how: str) -> bool:
        assert self._request is not None and self.completion is not None
        request, self._request = self._request.fact, None
        how = f"{how} ({policy.SILENCE_IS_APPROVAL})" if how.startswith("unanswered") else how
        if request.kind is FactKind.PLAN_EXTENSION:
            assert request.until is not None
            self._is_extended = True
            self.completion.clock.extensions["plan_extension"] = request.until
            self.completion.note(
                f"More time ({request.basis}) {how} on {on}: due {self.completion.clock.nominal_on}."
            )
            return False
        if not self.completion.is_pending:
            return False
        self.completion.cancel(f"Relief {how} on {on}.")
        self._open_relief_repair(request, on)
        return True

    def _open_relief_repair(self, request: Fact, on: date) -> None:
        """All identified leaks are to be repaired within a year of the plan's date (82.157 and 84.106 (h)(5)(ii))."""
        assert self.filed_on is not None
        row = self._docket.row("relief_repairs", on)
        because = f"{policy.RELIEF_REPAIR}: {reckoned(self.filed_on, row)}."
        clock = self._docket.clock(after(self.filed_on, row), on)
        self.relief_repair = self._docket.open(
            ObligationKind.REPAIR, row, on, clock, because[0].upper() + because[1:], request.event
        )
        for repair in self._docket.timeline.of_kind(FactKind.REPAIR):
            if repair.on >= request.on and self.relief_repair.is_pending:
                self.relief_repair.meet(repair.on, repair.event, f"Repaired on {repair.on}.")
