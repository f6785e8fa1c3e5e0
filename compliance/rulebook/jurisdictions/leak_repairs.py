"""Repairs that any detected leak asks for, where the law knows no threshold of leak rate."""

from collections.abc import Callable
from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.duties import Clock, Duty
from compliance.rulebook.facts import Fact, FactKind
from compliance.rulebook.jurisdictions.docket import Docket
from compliance.rulebook.results import ObligationKind
from compliance.rulebook.tables import Row

Terms = Callable[[Fact], tuple[Clock, str]]


def open_repairs(docket: Docket, row: Row, terms: Terms, ended_on: date | None) -> None:
    """Opens a repair when a leak is detected and none is open; the next repair meets it.

    Args:
        docket: where the rows are written.
        row: the rule's citation.
        terms: the clock of a leak detected by a fact, and its reckoning in words.
        ended_on: the day from which nothing is owed.
    """
    duties: list[Duty] = []
    watched = (FactKind.LEAK_INSPECTION, FactKind.ADDITION, FactKind.REPAIR)
    for fact in docket.timeline.of_kind(*watched):
        is_open = bool(duties) and duties[-1].is_pending
        if fact.kind is FactKind.REPAIR:
            if is_open:
                duties[-1].meet(fact.on, fact.event, f"Repaired on {fact.on}.")
        elif not is_open and _detects_leak(fact) and (ended_on is None or fact.on < ended_on):
            clock, words = terms(fact)
            because = f"A leak was detected on {fact.on} ({policy.LEAK_IS_DETECTED_BY}). {words}"
            duties.append(docket.open(ObligationKind.REPAIR, row, fact.on, clock, because, fact.event))
    if duties and duties[-1].is_pending and ended_on is not None:
        duties[-1].cancel(f"From {ended_on} on the appliance is retired or the rule no longer applies.")


def _detects_leak(fact: Fact) -> bool:
    if fact.kind is FactKind.LEAK_INSPECTION:
        return bool(fact.leaks_found)
    return fact.leak is not None and fact.reason == "service"
