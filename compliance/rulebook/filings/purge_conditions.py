"""When purged refrigerant may be left out of a leak rate (40 CFR 82.157(k) and 84.106(k))."""

from collections.abc import Iterable, Iterator

from compliance.rulebook import policy
from compliance.rulebook.facts import Fact, FactKind
from compliance.rulebook.filings.details import Details, Objection
from compliance.rulebook.filings.purge_specs import NOTICE_DUE, PURGED_AND_DESTROYED
from compliance.rulebook.filings.repair_conditions import DAY
from compliance.rulebook.filings.situation import Situation
from compliance.rulebook.jurisdictions.docket import after
from compliance.rulebook.masses import format_mass

EFFICIENCY, NOTICE = "purge_destruction_efficiency", "purge_notice"
COUNTED_REASON = "service"
_ALL_PCT = 100


def is_counted_addition(fact: Fact) -> bool:
    """Whether a fact is refrigerant added that counts as leaked, of which a purge may be left out."""
    return fact.kind is FactKind.ADDITION and fact.reason == COUNTED_REASON


def counted_additions(facts: Iterable[Fact], event: str) -> list[Fact]:
    """What an event added of that which counts as leaked."""
    return [fact for fact in facts if fact.event == event and is_counted_addition(fact)]


def purge_state(case: Situation) -> Iterator[Objection]:
    """Something was added under a leak repair rule, so that there is a rate to leave it out of."""
    citation = case.cited(PURGED_AND_DESTROYED.paragraph)
    if case.row(EFFICIENCY) is None:
        expected = "Expected an appliance under a leak repair rule; none applied to it."
        yield Objection(DAY, case.on, expected, citation)
    elif not any(map(is_counted_addition, case.before(FactKind.ADDITION))):
        expected = f"Expected a visit on or before {case.on} whose addition counts as leaked; there was none."
        yield Objection(DAY, case.on, expected, citation)


def purge_evidence(case: Situation, details: Details) -> Iterator[Objection]:
    """It was destroyed well enough, before the addition that replaced it, and is no more than that addition."""
    yield from _efficiency(case, details)
    yield from _replaced(case, details)
    yield from _notice(case, details)


def _efficiency(case: Situation, details: Details) -> Iterator[Objection]:
    row, given = case.row(EFFICIENCY), details.number("destruction_efficiency_pct")
    if row is not None and given is not None and not row.number <= given <= _ALL_PCT:
        expected = f"Expected {row.in_words} or more, and at most {_ALL_PCT} %."
        yield Objection("destruction_efficiency_pct", str(given), expected, row.citation)


def _replaced(case: Situation, details: Details) -> Iterator[Objection]:
    citation = case.cited(PURGED_AND_DESTROYED.paragraph)
    reference, destroyed_mg = details.text("addition_visit"), details.mass_mg("destroyed") or 0
    counted = counted_additions(case.before(FactKind.ADDITION), reference)
    if not counted:
        expected = f"Expected a visit on or before {case.on} whose addition counts as leaked."
        yield Objection("addition_visit", reference, expected, citation)
        return
    added_mg = sum(fact.mass_mg or 0 for fact in counted)
    left_out_mg = sum(fact.purged_and_destroyed_mg for fact in counted)
    if destroyed_mg > added_mg - left_out_mg + policy.RESOLUTION.value * (len(counted) + 1):
        already = f", of which {format_mass(left_out_mg)} are left out already" if left_out_mg else ""
        expected = f"Expected no more than what the visit added, {format_mass(added_mg)}{already}."
        yield Objection("destroyed", format_mass(destroyed_mg), expected, citation)
    begin_on, end_on = details.day("purged_from"), details.day("purged_until")
    if begin_on and end_on and end_on < begin_on:
        yield Objection("purged_until", end_on, f"Expected a day from {begin_on} on.", citation)
    elif end_on and end_on > counted[-1].on:
        expected = f"Expected no day after {counted[-1].on}, when it was replaced."
        yield Objection("purged_until", end_on, expected, citation)


def _notice(case: Situation, details: Details) -> Iterator[Objection]:
    row, first_on = case.row(NOTICE), details.day("first_used_on")
    for name in ("first_used_on", "notice_sent_on"):
        day = details.day(name)
        if day is not None and day > case.on:
            expected = f"Expected a day no later than {case.on}, when it is stated."
            yield Objection(name, day, expected, row.citation if row else "")
    if row is None or first_on is None or details.text("notice") != NOTICE_DUE:
        return
    due_on = after(first_on, row)
    if due_on < case.on:
        expected = f"Expected a notice that was sent: it was due within {row.in_words}, by {due_on}."
        yield Objection("notice", NOTICE_DUE, expected, row.citation)
