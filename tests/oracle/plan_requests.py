"""Relief from a plan and more time for it: asked, answered or left unanswered (82.157 and 84.106 (h)(5)(ii), (i))."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from tests.oracle.owed import Clock, Row
from tests.oracle.rates import ODS
from tests.oracle.records import Fact, Unsettled, months_later

if TYPE_CHECKING:
    from tests.oracle.repair_cases import RepairCases


@dataclass
class Asked:
    fact: Fact
    until: date | None


class PlanRequests:
    """What was asked about the plan under way; relief leaves a repair owed within a year of the plan."""

    def __init__(self, cases: "RepairCases") -> None:
        self.cases = cases
        self.repairs: list[Row] = []
        self.asked: Asked | None = None
        self.plan_on: date | None = None
        self.finish_on: date | None = None
        self.exceeded_on: date | None = None
        self.is_extended = self.was_stopped = False

    def plan_is_filed(self, day: date) -> None:
        self.plan_on = day
        # A plan belongs to the exceedance that first asked for it, even where a later one opened a new case.
        self.exceeded_on = self.cases.plan.opened_on
        self.finish_on = self.cases.completion.clock.due_on
        self.is_extended = False

    def start_of(self, day: date) -> None:
        """Sixty days without an answer are an approval, from the sixtieth on."""
        if self.asked is not None and self.asked.fact.on + timedelta(days=60) < day:
            asked, self.asked = self.asked, None
            self._grant(asked, asked.fact.on + timedelta(days=60))

    def take(self, fact: Fact) -> None:
        if fact.kind in {"relief_requested", "plan_extension"}:
            self._ask(fact)
        elif fact.kind == "agency_answer":
            self._answer(fact)
        elif fact.kind == "repair":
            for row in self.repairs:
                if row.is_open:
                    row.meet(fact.on)

    def _answer(self, fact: Fact) -> None:
        """To whichever was asked last, about the plan or about the repair."""
        extensions = self.cases.case.unanswered if self.cases.case is not None else []
        if extensions and (self.asked is None or extensions[-1].order > self.asked.fact.order):
            self.cases.take_answer(fact)
        elif self.asked is not None:
            asked, self.asked = self.asked, None
            if fact.detail["granted"]:
                self._grant(asked, fact.on)

    def _ask(self, fact: Fact) -> None:
        completion = self.cases.completion
        if completion is None or self.plan_on is None or self.finish_on is None:
            return
        if self.was_stopped:
            raise Unsettled("a request about a plan after mothballing")
        if fact.kind == "relief_requested":
            if fact.on <= self.plan_on + timedelta(days=180):
                self._wait(Asked(fact, None))
            return
        until = date.fromisoformat(fact.detail["until"])
        is_ods = self.cases.rule == ODS
        if fact.detail["basis"] == "exempt_substitute":
            # Eighteen months from the plan without asking, under 82.157(i)(1) alone.
            if is_ods and fact.on <= completion.clock.due_on:
                until = min(until, months_later(self.plan_on, 18))
                completion.clock.due_on = max(completion.clock.due_on, until)
            return
        if fact.detail["basis"] == "federally_owned":
            if not is_ods:
                return
            until = min(until, months_later(self.finish_on, 12))
        if fact.on <= months_later(self.exceeded_on, 7) or self._may_ask_again(fact.on):
            self._wait(Asked(fact, until))

    def _may_ask_again(self, day: date) -> bool:
        """Before the end of the ninth month of the extension, for an industrial process."""
        category = self.cases.rates.request["appliance"]["category"]
        is_process = category == "industrial_process_refrigeration"
        return is_process and self.is_extended and day < months_later(self.finish_on, 9)

    def _wait(self, asked: Asked) -> None:
        if self.asked is not None or self.is_extended:
            raise Unsettled("a further request")
        self.asked = asked

    def _grant(self, asked: Asked, day: date) -> None:
        cases = self.cases
        completion = cases.completion
        if completion is None:
            return
        if cases.is_mothballed or self.was_stopped:
            raise Unsettled("a request granted after mothballing")
        if asked.until is not None:
            self.is_extended = True
            completion.clock.due_on = max(completion.clock.due_on, asked.until)
            return
        completion.end("cancelled")
        cases.completion, cases.is_elected = None, False
        row = cases.open("repair", day, Clock(months_later(self.plan_on, 12)))
        self.repairs.append(row)
        done = [f.on for f in cases.rates.facts if f.kind == "repair" and asked.fact.on <= f.on <= day]
        if done:
            row.meet(day)
