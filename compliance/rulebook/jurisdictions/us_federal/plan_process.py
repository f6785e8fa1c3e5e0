"""A retrofit or retirement plan: when it is due, its completion, relief and more time (82.157 and 84.106 (h), (i))."""

from dataclasses import dataclass
from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.duties import Duty, Extension
from compliance.rulebook.facts import Fact, FactKind
from compliance.rulebook.jurisdictions.docket import Docket, after, reckoned
from compliance.rulebook.jurisdictions.us_federal.plan_extensions import (
    PlanExtensionTerms,
    plan_extension_terms,
)
from compliance.rulebook.jurisdictions.us_federal.repair_cycle import RepairCycle
from compliance.rulebook.results import ObligationKind
from compliance.rulebook.tables import Row


@dataclass(frozen=True)
class _Request:
    """Relief or more time asked of the agency, waiting for its answer."""

    fact: Fact
    silence: Row
    completion: Duty
    plan_on: date
    terms: PlanExtensionTerms

    @property
    def approved_on(self) -> date:
        return after(self.fact.on, self.silence)


class PlanProcess:
    """From the day a plan is required to its completion, or to relief from it."""

    def __init__(self, docket: Docket, cycle: RepairCycle, trigger: str) -> None:
        row = docket.row("retrofit_or_retirement_plan", cycle.opened_on)
        reckoning = f"{reckoned(cycle.opened_on, row)}; {policy.PLAN_FROM_EXCESS}"
        because = f"{cycle.over} {trigger}. {reckoning}."
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
            rests_on=cycle.repair.rests_on,
        )
        self.completion: Duty | None = None
        self.relief_repair: Duty | None = None
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
            cap_on = after(plan_due_on, cap)
            words += (
                f", but no later than {cap.in_words} after the plan was due: {reckoned(plan_due_on, cap)}"
            )
            due_on = min(due_on, cap_on)
        self.completion = self._docket.open(
            ObligationKind.RETROFIT_OR_RETIREMENT,
            row,
            fact.on,
            self._docket.clock(due_on, fact.on),
            f"The plan is dated {fact.on}. {words}.",
            fact.event,
            rests_on=[*self.plan.rests_on, *([] if cap is None else [cap])],
        )
        self._relief_clock.start(after(fact.on, self._docket.row("relief_request", fact.on)), fact.on)

    def ask(self, fact: Fact) -> None:
        """Takes a request for relief or for more time, if it comes in time."""
        is_relief = fact.kind is FactKind.RELIEF_REQUESTED
        what = "request for relief" if is_relief else "request for more time"
        completion = self.completion
        if completion is None or not completion.is_pending or self.filed_on is None:
            self._docket.had_none(fact, "has no plan under way")
            return
        terms = PlanExtensionTerms() if is_relief else self._terms(fact, completion, self.filed_on)
        if not terms.is_known:
            no_ground = f"“{fact.basis_in_words}”, which is no ground under {self.plan.citation}"
            self._docket.had_none(fact, f"rests on {no_ground}")
            return
        self._docket.had_effect(fact)
        if terms.is_automatic:
            self._extend_by_rule(fact, completion, terms)
            return
        limit = self._relief_clock if is_relief else self._cycle.request_clock
        completion.rest_on(
            self._docket.row("relief_request" if is_relief else "plan_extension_request", fact.on)
        )
        if limit.is_past(fact.on) and (is_relief or not self._may_ask_again(fact, completion)):
            self._docket.warn(f"The {what} of {fact.on} is refused: it was due by {limit.due_on}.")
            return
        silence = self._docket.row("relief_silence" if is_relief else "plan_extension_silence", fact.on)
        completion.rest_on(silence)
        self._request = _Request(fact, silence, completion, self.filed_on, terms)
        basis = f" ({fact.basis_in_words})" if fact.basis else ""
        completion.note(f"A {what}{basis} was filed on {fact.on}. {terms.words}".rstrip())

    def awaits_answer_to(self, fact: Fact) -> bool:
        """Whether this is the request that waits for the agency's answer."""
        return self._request is not None and self._request.fact is fact

    def answer(self, fact: Fact) -> bool:
        """Takes the agency's answer; returns whether it relieved the owner of the plan."""
        request, self._request = self._request, None
        if request is None:
            return False
        self._docket.had_effect(fact)
        if fact.granted:
            return self._grant(request, fact.on, "granted")
        request.completion.note(f"The agency refused on {fact.on}.")
        return False

    def pass_to(self, on: date) -> bool:
        """Lets time go on to ``on``: an unanswered request may have become approved.

        Returns whether that was relief from the plan.
        """
        request = self._request
        if request is None or request.approved_on >= on:
            return False
        self._request = None
        how = f"unanswered for {request.silence.in_words} ({policy.SILENCE_IS_APPROVAL})"
        return self._grant(request, request.approved_on, how)

    def complete(self, fact: Fact) -> None:
        """The appliance is retrofitted or retired."""
        done = f"{fact.kind.value.capitalize()} on {fact.on}."
        if self.plan.is_pending:
            self.plan.cancel(done)
        if self.completion is not None and self.completion.is_pending:
            self.completion.meet(fact.on, fact.event, done)

    def _terms(self, fact: Fact, completion: Duty, plan_on: date) -> PlanExtensionTerms:
        base_on = completion.clock.base_on or plan_on
        return plan_extension_terms(self._docket, fact, plan_on=plan_on, base_on=base_on)

    def _extend_by_rule(self, fact: Fact, completion: Duty, terms: PlanExtensionTerms) -> None:
        """More time that the rule itself gives, if recorded while the plan's own time runs; less takes none away."""
        if completion.clock.is_past(fact.on):
            due = f"the due date was {completion.clock.due_on}: {policy.EXTENSION_BEFORE_DUE}"
            self._docket.warn(f"The plan extension of {fact.on} is refused, as {due}.")
            return
        given = completion.clock.extensions.get("plan_extension_by_rule")
        if given is None or given.due_on < terms.until(fact):
            completion.clock.extensions["plan_extension_by_rule"] = Extension(terms.until(fact))
        completion.note(f"More time recorded on {fact.on}: {terms.words} Due {completion.clock.nominal_on}.")
        completion.rest_on(*terms.rests_on)

    def _may_ask_again(self, fact: Fact, completion: Duty) -> bool:
        """Whether an extended industrial process appliance may ask further: before the extension's ninth month ends."""
        row = self._docket.find_row("plan_extension_further_request", fact.on)
        base_on = completion.clock.base_on
        return row is not None and self._is_extended and base_on is not None and fact.on < after(base_on, row)

    def _grant(self, request: _Request, on: date, how: str) -> bool:
        """Gives what was asked; returns whether it was relief from the plan."""
        asked, completion = request.fact, request.completion
        if not completion.is_pending:
            return False
        if asked.kind is FactKind.RELIEF_REQUESTED:
            completion.cancel(f"Relief from the plan on {on}: {how}.")
            self._open_relief_repair(request, on)
            return True
        if asked.until is not None:
            self._is_extended = True
            completion.clock.extensions["plan_extension"] = Extension(request.terms.until(asked))
            completion.note(
                f"More time ({asked.basis_in_words}) from {on}, {how}: due {completion.clock.nominal_on}."
            )
            completion.rest_on(*request.terms.rests_on)
        return False

    def _open_relief_repair(self, request: _Request, on: date) -> None:
        """All identified leaks are to be repaired within a year of the plan's date ((h)(5)(ii) of both sections)."""
        row = self._docket.row("relief_repairs", on)
        due_on = after(request.plan_on, row)
        duty = self._docket.open(
            ObligationKind.REPAIR,
            row,
            on,
            self._docket.clock(due_on, on),
            f"{policy.RELIEF_REPAIR.sentence}: {reckoned(request.plan_on, row)}.",
            request.fact.event,
            rests_on=request.completion.rests_on,
        )
        self.relief_repair = duty
        for repair in self._docket.timeline.of_kind(FactKind.REPAIR):
            if request.fact.on <= repair.on <= on and duty.is_pending:
                duty.meet(on, repair.event, f"Repaired on {repair.on}.")
