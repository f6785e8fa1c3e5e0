"""When a choice, a plan, requests about it and the agency's answer may be filed (82.157 and 84.106 (h), (i))."""

from collections.abc import Iterator
from datetime import date

from compliance.rulebook.dates import add_days
from compliance.rulebook.facts import CALIFORNIA_EXTENSION_BASES, Category, Fact, FactKind
from compliance.rulebook.filings.details import Details, Objection
from compliance.rulebook.filings.plan_specs import (
    AGENCY_ANSWER,
    ELECTED,
    PLAN,
    PLAN_EXTENSION,
    RELIEF_REQUESTED,
)
from compliance.rulebook.filings.repair_conditions import DAY, REPAIRING, cited_by
from compliance.rulebook.filings.situation import RUNNING, Situation, named
from compliance.rulebook.filings.specs import both
from compliance.rulebook.jurisdictions.docket import after
from compliance.rulebook.jurisdictions.us_federal.plan_extensions import (
    EXEMPT_SUBSTITUTE,
    FEDERALLY_OWNED,
    OF_PROCESSES,
)
from compliance.rulebook.results import Obligation, ObligationKind
from compliance.rulebook.rules import US_FEDERAL_HFC, US_FEDERAL_ODS

_CASE = (*REPAIRING, ObligationKind.RETROFIT_OR_RETIREMENT_PLAN)
_COMPLETION = ObligationKind.RETROFIT_OR_RETIREMENT
_OF_PLANS = (FactKind.RELIEF_REQUESTED, FactKind.PLAN_EXTENSION)


def elected_state(case: Situation) -> Iterator[Objection]:
    """Retrofit or retirement is chosen while a repair, a test or a plan is owed, and once."""
    citation = case.cited(ELECTED.paragraph)
    running = case.running(*_CASE)
    if not running:
        expected = f"Expected a day on which a {named(_CASE)} was owed; none was on {case.on}."
        yield Objection(DAY, case.on, expected, citation)
        return
    opened_on = min(row.opened_on for row in running)
    elected = [
        fact
        for fact in case.before(FactKind.RETROFIT_OR_RETIREMENT_ELECTED, FactKind.RETROFIT_OR_RETIREMENT_PLAN)
        if fact.on >= opened_on
    ]
    if elected:
        expected = f"Expected a case in which it wasn’t chosen yet: it was on {elected[0].on}."
        yield Objection(DAY, case.on, expected, citation)


def plan_state(case: Situation) -> Iterator[Objection]:
    """A plan is made while one is owed, or where repairing is given up for it."""
    if not case.running(*_CASE):
        expected = f"Expected a day on which a {named(_CASE)} was owed; none was on {case.on}."
        if completion := case.running(_COMPLETION):
            expected += f" A plan stands, its work is due by {completion[0].due_on}."
        yield Objection(DAY, case.on, expected, case.cited(PLAN.paragraph))


def plan_evidence(case: Situation, details: Details) -> Iterator[Objection]:
    """The schedule ends within the time that the paragraph gives the work."""
    done_on = details.day("completion_on")
    if done_on is None:
        return
    paragraph = both("(h)(5)(i)")
    last = max(_completions(case), key=lambda row: row.due_on or date.max, default=None)
    if done_on < case.on:
        expected = f"Expected a day from {case.on} on."
        yield Objection("completion_on", done_on, expected, case.cited(paragraph))
    elif last is not None and last.due_on is not None and done_on > last.due_on:
        due_on, citation = last.due_on, cited_by(last, paragraph)
        expected = (
            f"Expected a day by {due_on}, when the retrofit or retirement is due under a plan of {case.on}."
        )
        yield Objection("completion_on", done_on, expected, citation)


def completion_due_on(case: Situation) -> date | None:
    """When a retrofit or retirement is due by every rule under a plan of the day; ``None`` where none can be made."""
    return min((row.due_on for row in _completions(case) if row.due_on is not None), default=None)


def _completions(case: Situation) -> list[Obligation]:
    """What a plan of the day asks to be carried out, under each rule that has a case for it."""
    plan = Fact(on=case.on, kind=FactKind.RETROFIT_OR_RETIREMENT_PLAN)
    rules = {row.rule for row in case.running(*_CASE)}
    return [
        row
        for row in case.after(plan).obligations
        if row.kind is _COMPLETION and row.status in RUNNING and row.rule in rules
    ]


def relief_state(case: Situation) -> Iterator[Objection]:
    """Relief is from a plan under way, asked for in time, and only where the newest rate isn't over."""
    citation = case.cited(RELIEF_REQUESTED.paragraph)
    completion = _completion(case)
    if completion is None:
        yield Objection(DAY, case.on, _no_plan(case), citation)
        return
    row = case.row("relief_request")
    if row is not None and case.on > after(completion.opened_on, row):
        last_on = after(completion.opened_on, row)
        expected = f"Expected a day by {last_on}: {row.in_words} after the plan of {completion.opened_on}."
        yield Objection(DAY, case.on, expected, row.citation)
    asked = open_request(case)
    if asked is not None and asked.kind is FactKind.RELIEF_REQUESTED:
        expected = f"Expected no request that waits for an answer: relief was asked for on {asked.on}."
        yield Objection(DAY, case.on, expected, citation)
    rates = [rate for rate in case.then.leak_rates if rate.rule == completion.rule]
    if rates and rates[-1].exceeds:
        expected = (
            f"Expected a leak rate that isn’t exceeded any more: the newest, of {rates[-1].on}, is "
            f"{rates[-1].percent_rounded} %, over {rates[-1].threshold_pct} %."
        )
        yield Objection(DAY, case.on, expected, citation)


def relief_evidence(case: Situation, details: Details) -> Iterator[Objection]:
    """All leaks are repaired within the time that is counted from the plan's date."""
    completion, row, done_on = _completion(case), case.row("relief_repairs"), details.day("repairs_done_by")
    last_on = relief_repairs_by(case)
    if completion is None or row is None or done_on is None or last_on is None:
        return
    if done_on > last_on:
        expected = f"Expected a day by {last_on}: {row.in_words} after the plan of {completion.opened_on}."
        yield Objection("repairs_done_by", done_on, expected, row.citation)


def relief_repairs_by(case: Situation) -> date | None:
    """By when all leaks are repaired where relief is given; ``None`` without a plan under way."""
    completion, row = _completion(case), case.row("relief_repairs")
    return None if completion is None or row is None else after(completion.opened_on, row)


def plan_extension_state(case: Situation) -> Iterator[Objection]:
    """More time is for a plan under way."""
    if _completion(case) is None:
        yield Objection(DAY, case.on, _no_plan(case), case.cited(PLAN_EXTENSION.paragraph))


def plan_extension_evidence(case: Situation, details: Details) -> Iterator[Objection]:
    """The ground is one that the section knows for this appliance, and its own conditions are met."""
    completion, basis = _completion(case), details.text("basis")
    if completion is None:
        return
    citation = case.cited(PLAN_EXTENSION.paragraph)
    if basis in (EXEMPT_SUBSTITUTE, FEDERALLY_OWNED) and US_FEDERAL_ODS not in case.applying:
        expected = "Expected a ground of 40 CFR 84.106(i): this one is of 40 CFR 82.157(i) alone."
        yield Objection("basis", basis, expected, citation)
    elif basis == "radiological" and case.applying == (US_FEDERAL_ODS,):
        expected = (
            "Expected a ground of 40 CFR 82.157(i) for industrial processes: this one is of 40 CFR 84.106(i)."
        )
        yield Objection("basis", basis, expected, citation)
    if basis in OF_PROCESSES and case.appliance.category is not Category.INDUSTRIAL_PROCESS_REFRIGERATION:
        expected = (
            "Expected another ground: this one is of industrial process refrigeration, and the appliance is "
            f"{case.appliance.category.in_words}."
        )
        yield Objection("basis", basis, expected, citation)
    until = details.day("until")
    if until is not None and completion.due_on is not None and until <= completion.due_on:
        expected = f"Expected a day after {completion.due_on}, when it is due without more time."
        yield Objection("until", until, expected, citation)
    if basis == "custom_built":
        yield from _custom_built(case, details)


def _custom_built(case: Situation, details: Details) -> Iterator[Objection]:
    quote, install = case.row("plan_extension_long_quote"), case.row("plan_extension_after_delivery")
    weeks, delivery_on, until = (
        details.number("quoted_weeks"),
        details.day("delivery_expected_on"),
        details.day("until"),
    )
    if quote is not None and weeks is not None and weeks <= quote.number:
        expected = f"Expected a quote of more than {quote.in_words}."
        yield Objection("quoted_weeks", str(weeks), expected, quote.citation)
    if install is not None and delivery_on is not None and until is not None:
        last_on = add_days(delivery_on, install.count)
        if until > last_on:
            expected = f"Expected a day by {last_on}: {install.in_words} after the delivery."
            yield Objection("until", until, expected, install.citation)


def _unanswered(case: Situation) -> list[Fact]:
    """The requests that no answer has followed, the newest last; each answer is to the newest of its day."""
    unanswered: list[Fact] = []
    for fact in case.before(*_OF_PLANS, FactKind.EXTENSION, FactKind.AGENCY_ANSWER):
        if fact.kind is FactKind.AGENCY_ANSWER:
            del unanswered[-1:]
        elif fact.basis in CALIFORNIA_EXTENSION_BASES:
            continue  # a record that nobody was sent
        elif fact.kind is FactKind.EXTENSION:
            unanswered.append(fact)
        elif fact.basis != EXEMPT_SUBSTITUTE:
            unanswered = [earlier for earlier in unanswered if earlier.kind not in _OF_PLANS]
            unanswered.append(fact)
    opened_on = _case_opened_on(case)
    return [
        fact
        for fact in unanswered
        if fact.kind in _OF_PLANS or (opened_on is not None and opened_on <= fact.on)
    ]


def _case_opened_on(case: Situation) -> date | None:
    """Since when the repair under way is owed; ``None`` where neither it nor one of its tests is."""
    opened = [row.opened_on for row in case.then.obligations if row.kind is ObligationKind.REPAIR]
    return max(opened, default=None) if case.running(*REPAIRING) else None


def open_request(case: Situation) -> Fact | None:
    """The newest request about a plan that no answer has followed."""
    return next((fact for fact in reversed(_unanswered(case)) if fact.kind in _OF_PLANS), None)


def answer_state(case: Situation) -> Iterator[Objection]:
    """An answer belongs to a request that waits for one; about a plan, silence counts as approval after its time."""
    unanswered = _unanswered(case)
    if not unanswered:
        expected = (
            f"Expected a request for relief or for more time that waits for an answer; none did on {case.on}."
        )
        yield Objection(DAY, case.on, expected, case.cited(AGENCY_ANSWER.paragraph))
        return
    if any(fact.kind is FactKind.EXTENSION for fact in unanswered):
        return
    asked = unanswered[-1]
    is_relief = asked.kind is FactKind.RELIEF_REQUESTED
    silence = case.row("relief_silence" if is_relief else "plan_extension_silence")
    if silence is not None and case.on > after(asked.on, silence):
        approved_on = after(asked.on, silence)
        expected = (
            f"Expected a day by {approved_on}: unanswered for {silence.in_words}, the request of {asked.on} counts "
            "as approved."
        )
        yield Objection(DAY, case.on, expected, silence.citation)


def _completion(case: Situation) -> Obligation | None:
    """The retrofit or retirement under way; of the federal rules, whose requests these are."""
    federal = (US_FEDERAL_ODS, US_FEDERAL_HFC)
    return next((row for row in case.running(_COMPLETION) if row.rule in federal), None)


def _no_plan(case: Situation) -> str:
    return f"Expected a retrofit or retirement under way; no plan was on {case.on}."
