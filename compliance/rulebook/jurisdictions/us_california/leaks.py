"""Follows California's leaks through the facts: from detection to repair, tests, or retrofit or retirement."""

from datetime import date

from compliance.rulebook.facts import Fact, FactKind
from compliance.rulebook.jurisdictions.docket import Docket
from compliance.rulebook.jurisdictions.leak_repairs import detects_leak
from compliance.rulebook.jurisdictions.lifetime import Lifetime
from compliance.rulebook.jurisdictions.us_california.leak_case import LeakCase

_ELECTIONS = (FactKind.RETROFIT_OR_RETIREMENT_ELECTED, FactKind.RETROFIT_OR_RETIREMENT_PLAN)
_REASONS = (FactKind.EXTENSION, FactKind.INDUSTRIAL_PROCESS_SHUTDOWN_REQUIRED)
_TO_CASES = {
    FactKind.REPAIR: LeakCase.take_repair,
    FactKind.INITIAL_VERIFICATION_TEST: LeakCase.take_initial_test,
    FactKind.FOLLOW_UP_VERIFICATION_TEST: LeakCase.take_follow_up_test,
    FactKind.RETROFITTED: LeakCase.complete,
    FactKind.RETIRED: LeakCase.complete,
}
_WITHOUT_USE = (FactKind.RELIEF_REQUESTED, FactKind.PLAN_EXTENSION, FactKind.AGENCY_ANSWER)


class LeakCases:
    """One case a detected leak; a further leak detected while a repair is owed belongs to the same case.

    Source: 17 CCR 95386, 95387.
    """

    def __init__(self, docket: Docket, life: Lifetime) -> None:
        self._docket = docket
        self._life = life
        self._cases: list[LeakCase] = []
        # A leak's own day may bring the reason for more time before the leak, in the order given.
        self._reasons = docket.timeline.of_kind(*_REASONS)

    def follow(self) -> None:
        """Takes in every fact in order, then lets time go on to the day asked about."""
        for moment in self._docket.timeline.moments:
            fact = moment.fact
            if self._life.ended_on is not None and fact.on > self._life.ended_on:
                break
            self._pass_to(fact.on)
            self._take(fact)
        ended_on = self._life.ended_on
        as_of = self._docket.timeline.as_of
        self._pass_to(as_of if ended_on is None else min(as_of, ended_on))
        ending = self._life.ending(None)
        if ending is not None:
            for case in self._cases:
                case.cancel(ending.sentence)

    def _take(self, fact: Fact) -> None:
        if fact.kind in (FactKind.LEAK_INSPECTION, FactKind.ADDITION):
            self._detect(fact)
        elif fact.kind in _TO_CASES:
            for case in self._cases:
                _TO_CASES[fact.kind](case, fact)
        elif fact.kind in _REASONS:
            self._extend(fact)
        elif fact.kind in _ELECTIONS:
            self._elect(fact)
        elif fact.kind in _WITHOUT_USE:
            self._docket.had_none(fact, "is not known to the rule")
        self._cases = [case for case in self._cases if not case.is_closed]

    def _detect(self, fact: Fact) -> None:
        """A case opens unless a repair is owed already, or the leak is one just repaired and charged again."""
        if not detects_leak(fact) or not self._life.runs_on(fact.on) or fact.on < self._docket.begins_on:
            return
        for case in self._cases:
            case.note(fact)
        is_owed = any(case.repair.is_pending or case.is_elected for case in self._cases)
        if not is_owed and not any(case.is_recharge(fact) for case in self._cases):
            case = LeakCase(self._docket, fact)
            self._cases.append(case)
            for reason in self._reasons:
                if reason.on == fact.on:
                    case.extend(reason)

    def _extend(self, fact: Fact) -> None:
        is_extended = [case.extend(fact) for case in self._cases]
        if fact.kind is FactKind.EXTENSION and not any(is_extended):
            self._docket.had_none(fact, "gives no repair that is owed more time")

    def _elect(self, fact: Fact) -> None:
        if not self._cases:
            self._docket.had_none(fact, "concerns no leak that is open")
        for case in self._cases:
            case.elect(fact)

    def _pass_to(self, on: date) -> None:
        for case in self._cases:
            case.pass_to(on)
