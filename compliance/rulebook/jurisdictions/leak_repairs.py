"""Repairs that any detected leak asks for, where the law knows no threshold of leak rate."""

from collections.abc import Callable

from compliance.rulebook import policy
from compliance.rulebook.duties import Clock, Duty
from compliance.rulebook.facts import Fact, FactKind
from compliance.rulebook.jurisdictions.docket import Docket
from compliance.rulebook.jurisdictions.lifetime import Lifetime
from compliance.rulebook.results import ObligationKind
from compliance.rulebook.tables import Row

Terms = Callable[[Fact], tuple[Clock, str]]


def open_repairs(docket: Docket, row: Row, terms: Terms, life: Lifetime) -> None:
    """Opens a repair when a leak is detected and none is open; the next repair meets it.

    Args:
        docket: where the rows are written.
        row: the rule's citation.
        terms: the clock of a leak detected by a fact, and its reckoning in words.
        life: when the rule ends for the appliance; what is owed then is no longer so.
    """
    duty: Duty | None = None
    watched = (FactKind.LEAK_INSPECTION, FactKind.ADDITION, FactKind.REPAIR)
    for fact in docket.timeline.of_kind(*watched):
        if fact.kind is FactKind.REPAIR:
            if duty is not None:
                duty.settle(fact, "Repaired", life.ending(None))
            duty = None
        elif duty is None and _detects_leak(fact) and life.runs_on(fact.on):
            clock, words = terms(fact)
            because = f"{_detection(fact)} {words} {policy.LEAK_IS_DETECTED_BY.sentence}."
            duty = docket.open(ObligationKind.REPAIR, row, fact.on, clock, because, fact.event)
    if duty is not None:
        duty.settle(None, "Repaired", life.ending(None))


def _detection(fact: Fact) -> str:
    if fact.kind is FactKind.LEAK_INSPECTION:
        return f"The inspection of {fact.on} found a leak."
    return f"The addition of {fact.on} names leak {fact.leak}."


def _detects_leak(fact: Fact) -> bool:
    if fact.kind is FactKind.LEAK_INSPECTION:
        return bool(fact.leaks_found)
    return fact.leak is not None and fact.reason == "service"
