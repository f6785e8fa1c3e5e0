"""Checks that whoever learns the trade works on days on which the law lets them, and under supervision."""

import datetime
from collections.abc import Callable
from dataclasses import dataclass

from jobs.models import Technician
from jobs.services.checks.visit_context import VisitContext


@dataclass(frozen=True)
class LearnersTerms:
    """What one law lets people do who aren't certified yet.

    Attributes:
        ends_on: the last day, by the day of registration.
        days: why a day is outside, with ``{ends_on}`` and ``{on}`` to be filled in.
        supervision: what is expected where nobody else supervises.
        citation: the paragraph.
    """

    ends_on: Callable[[datetime.date], datetime.date]
    days: str
    supervision: str
    citation: str


def learners_supervisor(visit: VisitContext, learner: Technician, terms: LearnersTerms) -> Technician | None:
    """Who supervised a learner's visit, whose certificate then counts; notes refusals of the day and of nobody."""
    registered_on, on = learner.apprentice_registered_on, visit.submission.happened_on
    ends_on = registered_on and terms.ends_on(registered_on)
    if registered_on is None or ends_on is None or not registered_on <= on <= ends_on:
        outside = terms.days.format(ends_on=ends_on, on=on)
        expected = f"{learner} was registered as an apprentice on {registered_on}; {outside}"
        visit.refusals.add("technician", learner, expected, terms.citation)
    supervisor = visit.submission.supervisor
    if supervisor is None or supervisor == learner:
        visit.refusals.add("supervisor", supervisor, terms.supervision, terms.citation)
        return None
    return supervisor
