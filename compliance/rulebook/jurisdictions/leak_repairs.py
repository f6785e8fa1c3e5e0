"""Repairs that any detected leak asks for, where the law knows no threshold of leak rate."""

from collections.abc import Callable
from datetime import date

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
    repaired_on: date | None = None
    watched = (FactKind.LEAK_INSPECTION, FactKind.ADDITION, FactKind.REPAIR)
    for fact in docket.timeline.of_kind(*watched):
        if fact.kind is FactKind.REPAIR:
            if duty is not None:
                duty.settle(fact, "Repaired", life.ending(None))
            duty, repaired_on = None, fact.on
        elif duty is None and detects_leak(fact) and life.runs_on(fact.on):
            if fact.kind is FactKind.ADDITION and fact.on == repaired_on:
                continue  # ``policy.RECHARGE_DETECTS_NOTHING``
            clock, words = terms(fact)
            because = f"{detection_in_words(fact)} {words} {policy.LEAK_IS_DETECTED_BY.sentence}."
            duty = docket.open(ObligationKind.REPAIR, row, fact.on, clock, because, fact.event)
    if duty is not None:
        duty.settle(None, "Repaired", life.ending(None))


def detection_in_words(fact: Fact) -> str:
    """How a leak came to be known."""
    if fact.kind is FactKind.LEAK_INSPECTION:
        return f"The inspection of {fact.on} found a leak."
    return f"The addition of {fact.on} names leak {fact.leak}."


def detects_leak(fact: Fact) -> bool:
    """Whether a fact makes a leak known (``policy.LEAK_IS_DETECTED_BY``)."""
    if fact.kind is FactKind.LEAK_INSPECTION:
        return bool(fact.leaks_found)
    return fact.leak is not None and fact.reason == "service"
