"""When a ground of 17 CCR 95386 gives a repair its longer days: what the case and the evidence have to be."""

from collections.abc import Iterator

from compliance.rulebook.facts import (
    CALIFORNIA_REPORTING_PROCESS,
    CALIFORNIA_SHUTDOWN,
    Category,
)
from compliance.rulebook.filings.california_specs import REPAIR_SECTION
from compliance.rulebook.filings.details import Details, Objection
from compliance.rulebook.filings.facts import filing_fact
from compliance.rulebook.filings.situation import Situation
from compliance.rulebook.filings.specs import FilingKind
from compliance.rulebook.results import Obligation, ObligationKind, Status
from compliance.rulebook.rules import US_CALIFORNIA

_OF_PROCESSES = (CALIFORNIA_SHUTDOWN, CALIFORNIA_REPORTING_PROCESS)


def later_repair_evidence(case: Situation, details: Details) -> Iterator[Objection]:
    """A repair that California's rule gives time for, a process where one stands still, and days that are gained."""
    basis, obligation = details.text("basis"), details.text("obligation")
    category = case.appliance.category
    if obligation != ObligationKind.REPAIR:
        expected = "Expected the repair and its initial test: on this ground no other time is longer."
        yield Objection("obligation", obligation, expected, REPAIR_SECTION)
    if basis in _OF_PROCESSES and category is not Category.INDUSTRIAL_PROCESS_REFRIGERATION:
        expected = f"Expected industrial process refrigeration; this appliance is {category.in_words}."
        yield Objection("basis", basis, expected, REPAIR_SECTION)
        return
    available_on = details.day("available_on")
    if available_on is not None and available_on < case.on:
        yield Objection("available_on", available_on, f"Expected a day from {case.on} on.", REPAIR_SECTION)
    if obligation == ObligationKind.REPAIR:
        yield from _days_gained(case, details)


def _days_gained(case: Situation, details: Details) -> Iterator[Objection]:
    """The repair is owed, its time runs, and the ground puts it later."""
    owed = _repairs(case.then.obligations)
    in_time = [row for row in owed if row.status is not Status.OVERDUE]
    if not owed:
        expected = (
            f"Expected a day on which California’s rule asked for a repair; it asked for none on {case.on}."
        )
        yield Objection("happened_on", case.on, expected, REPAIR_SECTION)
        return
    if not in_time:
        due = ", ".join(f"{row.due_on}" for row in owed)
        expected = f"Expected a day within California’s time for the repair, which was over: by {due}."
        yield Objection("happened_on", case.on, expected, REPAIR_SECTION)
        return
    fact = filing_fact(FilingKind.EXTENSION, case.on, details)
    later = [] if fact is None else _repairs(case.after(fact).obligations)
    before = {row.opened_on: row.due_on for row in owed}
    if all(row.due_on == before.get(row.opened_on) for row in later):
        due = ", ".join(f"{row.due_on}" for row in in_time)
        expected = f"Expected a ground that gives more time: with what is on record it is {due} already."
        yield Objection("basis", details.text("basis"), expected, REPAIR_SECTION)


def _repairs(obligations: tuple[Obligation, ...]) -> list[Obligation]:
    running = (Status.OPEN, Status.OVERDUE)
    return [
        row
        for row in obligations
        if row.rule == US_CALIFORNIA and row.kind is ObligationKind.REPAIR and row.status in running
    ]
