"""When more time, a shutdown, mothballing, a return and a seasonal variance may be filed (82.157 and 84.106)."""

from collections.abc import Iterator
from decimal import Decimal

from compliance.rulebook.evacuation_levels import PSIG, Level, is_reached
from compliance.rulebook.facts import CALIFORNIA_EXTENSION_BASES, Category, Fact, FactKind
from compliance.rulebook.filings.california_conditions import later_repair_evidence
from compliance.rulebook.filings.details import Details, Objection
from compliance.rulebook.filings.facts import filing_fact
from compliance.rulebook.filings.repair_specs import (
    EXTENSION,
    MOTHBALLED,
    MOTHBALLING,
    SEASONAL,
    SHUTDOWN_REQUIRED,
)
from compliance.rulebook.filings.situation import RUNNING, Situation, named
from compliance.rulebook.filings.specs import SECTIONS, FilingKind, Paragraph, both
from compliance.rulebook.jurisdictions.docket import after
from compliance.rulebook.masses import format_mass
from compliance.rulebook.results import Obligation, ObligationKind, Status

REPAIRING = (
    ObligationKind.REPAIR,
    ObligationKind.INITIAL_VERIFICATION_TEST,
    ObligationKind.FOLLOW_UP_VERIFICATION_TEST,
)
DAY = "happened_on"


def extension_state(case: Situation) -> Iterator[Objection]:
    """More time is for a repair or test whose time still runs."""
    running = case.running(*REPAIRING)
    if not running:
        expected = f"Expected a day on which a {named(REPAIRING)} was owed; none was on {case.on}."
        yield Objection(DAY, case.on, expected, case.cited(EXTENSION.paragraph))
    elif all(row.status is Status.OVERDUE for row in running):
        due = ", ".join(f"{named([row.kind])} by {row.due_on}" for row in running)
        expected = f"Expected a day within the time, which was over: {due}."
        yield Objection(DAY, case.on, expected, case.cited(EXTENSION.paragraph))


def extension_evidence(case: Situation, details: Details) -> Iterator[Objection]:
    """A request to the agency or one of California's grounds, each by its own conditions."""
    if details.text("basis") in CALIFORNIA_EXTENSION_BASES:
        return later_repair_evidence(case, details)
    return _request_evidence(case, details)


def _request_evidence(case: Situation, details: Details) -> Iterator[Objection]:
    """The named duty runs, the days of the parts fit together, and the work is done within the time that is given."""
    citation = case.cited(EXTENSION.paragraph)
    kind = ObligationKind(details.text("obligation"))
    running = [row for row in case.running(kind) if row.status is not Status.OVERDUE]
    if not running:
        expected = f"Expected something whose time was running on {case.on}; no {named([kind])} was."
        yield Objection("obligation", kind.value, expected, citation)
        return
    for name in ("ordered_on", "delivered_on", "identified_on"):
        day = details.day(name)
        if day is not None and day > case.on:
            yield Objection(name, day, f"Expected a day no later than {case.on}, when it is filed.", citation)
    ordered, expected_on = details.day("ordered_on"), details.day("delivery_expected_on")
    if ordered and expected_on and expected_on < ordered:
        yield Objection(
            "delivery_expected_on", expected_on, f"Expected a day after the order on {ordered}.", citation
        )
    fact = filing_fact(FilingKind.EXTENSION, case.on, details)
    taken = [] if fact is None else _taken(case, fact, running)
    if not taken:
        expected = (
            f"Expected a request that some rule takes for the {named([kind])}; none gives more time for it."
        )
        yield Objection("obligation", kind.value, expected, citation)
        return
    yield from _revised(case, details, taken)
    estimate = details.day("completion_estimate")
    if estimate is None:
        return
    if estimate < case.on:
        yield Objection("completion_estimate", estimate, f"Expected a day from {case.on} on.", citation)
    dates = [(row.due_on, row) for row in taken if row.due_on is not None]
    if len(dates) < len(taken):
        return  # a clock that stands still sets no last day
    due_on, last = max(dates, key=lambda dated: dated[0])
    if estimate > due_on:
        expected = f"Expected a day by {due_on}: no more time is given on this ground."
        yield Objection("completion_estimate", estimate, expected, cited_by(last, both("(f)(1)")))


def _taken(case: Situation, fact: Fact, running: list[Obligation]) -> list[Obligation]:
    """The running rows as they stand with the request, of the rules that take it; what it does under one is enough.

    Rows of earlier cases, met long ago, are none of them.
    """
    after_it = case.after(fact)
    owed = {(row.rule, row.kind, row.opened_on) for row in running if (row.rule, fact) in after_it.had_effect}
    return [
        row
        for row in after_it.obligations
        if row.status in RUNNING and (row.rule, row.kind, row.opened_on) in owed
    ]


def cited_by(row: Obligation, paragraph: Paragraph) -> str:
    """The paragraph of the row's own rule, or what the row itself cites where the sections aren't its rule's."""
    return paragraph.cited((row.rule,)) if row.rule in SECTIONS else row.citation


def _revised(case: Situation, details: Details, taken: list[Obligation]) -> Iterator[Objection]:
    """A new estimate in place of an earlier one is sent soon after it is found to be needed, where a rule says so."""
    rules = {row.rule for row in taken}
    row = next((row for rule in rules if (row := case.row_of(rule, "extension_revised_estimate"))), None)
    if row is None:
        return
    opened_on = min(owed.opened_on for owed in case.running(*REPAIRING) if owed.rule == row.rule)
    before = [
        fact
        for fact in case.before(FactKind.EXTENSION)
        if fact.on >= opened_on
        and fact.obligation == details.text("obligation")
        and fact.basis == details.text("basis")
    ]
    identified_on = details.day("identified_on")
    if not before:
        return
    if identified_on is None:
        expected = (
            f"Expected the day on which more time was found to be needed: this takes the place of the request of "
            f"{before[-1].on}."
        )
        yield Objection("identified_on", None, expected, row.citation)
    elif case.on > after(identified_on, row):
        expected = (
            f"Expected a day within {row.in_words} before {case.on}: a new estimate is sent in that time."
        )
        yield Objection("identified_on", identified_on, expected, row.citation)


def shutdown_state(case: Situation) -> Iterator[Objection]:
    """A shutdown is of an industrial process, stated once while the time for the repair runs."""
    citation = case.cited(SHUTDOWN_REQUIRED.paragraph)
    category = case.appliance.category
    if category is not Category.INDUSTRIAL_PROCESS_REFRIGERATION:
        expected = f"Expected industrial process refrigeration; this appliance is {category.in_words}."
        yield Objection("kind", FilingKind.SHUTDOWN_REQUIRED.value, expected, citation)
        return
    running = case.running(ObligationKind.REPAIR, ObligationKind.INITIAL_VERIFICATION_TEST)
    in_time = [row for row in running if row.status is not Status.OVERDUE]
    if not in_time:
        expected = (
            f"Expected a day within the time for a repair or its initial test; none was running on {case.on}."
        )
        yield Objection(DAY, case.on, expected, citation)
        return
    opened_on = min(row.opened_on for row in in_time)
    before = [
        fact for fact in case.before(FactKind.INDUSTRIAL_PROCESS_SHUTDOWN_REQUIRED) if fact.on >= opened_on
    ]
    if before:
        yield Objection(
            DAY, case.on, f"Expected a case without it: it was filed on {before[-1].on} already.", citation
        )


def shutdown_evidence(case: Situation, details: Details) -> Iterator[Objection]:
    """The shutdown is planned for a day that is still to come when it is decided."""
    planned_on = details.day("shutdown_planned_on")
    if planned_on is not None and planned_on < case.on:
        citation = case.cited(SHUTDOWN_REQUIRED.paragraph)
        yield Objection("shutdown_planned_on", planned_on, f"Expected a day from {case.on} on.", citation)


def mothballed_since(case: Situation) -> Fact | None:
    """The mothballing that neither an addition nor a return has ended by the day."""
    since: Fact | None = None
    for fact in case.before(FactKind.MOTHBALLED, FactKind.RETURNED_TO_SERVICE, FactKind.ADDITION):
        since = (since or fact) if fact.kind is FactKind.MOTHBALLED else None
    return since


def mothballed_state(case: Situation) -> Iterator[Objection]:
    """Only an appliance that is neither retired nor mothballed can be mothballed."""
    citation = case.cited(MOTHBALLED.paragraph)
    if case.timeline.final_state.is_retired:
        yield Objection(
            DAY,
            case.on,
            f"Expected an appliance in use: it was retired on {case.timeline.retired_on}.",
            citation,
        )
    elif since := mothballed_since(case):
        yield Objection(
            DAY, case.on, f"Expected an appliance in use: it is mothballed since {since.on}.", citation
        )


def mothballed_evidence(case: Situation, details: Details) -> Iterator[Objection]:
    """A visit took the refrigerant out, none was added since, and the pressure is no more than the air's."""
    citation = MOTHBALLING.elsewhere
    reference = details.text("evacuation_visit")
    taken_out = [fact for fact in case.before(FactKind.REMOVAL) if fact.event == reference]
    additions = [fact for fact in case.before(FactKind.ADDITION) if fact.event != reference]
    if not taken_out:
        expected = f"Expected a visit on or before {case.on} that took refrigerant out of the appliance."
        yield Objection("evacuation_visit", reference, expected, citation)
    elif additions and additions[-1].on > taken_out[-1].on:
        expected = f"Expected a visit after {additions[-1].on}, when refrigerant was last added."
        yield Objection("evacuation_visit", reference, expected, citation)
    yield from _evacuated(case, details)


def _evacuated(case: Situation, details: Details) -> Iterator[Objection]:
    pressure, unit = details.number("pressure_reached"), details.text("pressure_unit")
    if pressure is None:
        return
    given, citation = f"{pressure} {unit}", MOTHBALLING.elsewhere
    air = Level(Decimal(0), PSIG, case.atmosphere_kpa)
    if pressure < 0 and unit != PSIG:
        yield Objection("pressure_reached", given, "Expected zero or more.", citation)
    elif not is_reached(air, pressure, unit, case.atmosphere_kpa):
        expected = "Expected no more than the pressure of the air, 0 psig: mothballed means evacuated at least to it."
        yield Objection("pressure_reached", given, expected, citation)


def returned_state(case: Situation) -> Iterator[Objection]:
    """Only what was mothballed returns."""
    facts = case.before(FactKind.MOTHBALLED, FactKind.RETURNED_TO_SERVICE)
    if not facts or facts[-1].kind is not FactKind.MOTHBALLED:
        expected = f"Expected a mothballed appliance; it wasn’t mothballed on {case.on}."
        yield Objection(DAY, case.on, expected, case.cited(both("(d)(3)")))


def returned_evidence(case: Situation, details: Details) -> Iterator[Objection]:
    """The visit named has put refrigerant back since the mothballing."""
    reference = details.text("addition_visit")
    mothballed = case.before(FactKind.MOTHBALLED)
    if not reference or not mothballed:
        return
    added = [fact for fact in case.before(FactKind.ADDITION) if fact.event == reference]
    if not added or added[-1].on < mothballed[-1].on:
        expected = f"Expected a visit from {mothballed[-1].on} to {case.on} that added refrigerant."
        yield Objection("addition_visit", reference, expected, case.cited(both("(d)(3)")))


def seasonal_state(case: Situation) -> Iterator[Objection]:
    """A season is closed where refrigerant was taken out for it within the year."""
    row = case.row("seasonal_variance_period")
    removals = [fact for fact in case.before(FactKind.REMOVAL) if fact.reason == "seasonal_variance"]
    if row is None:
        expected = "Expected an appliance under a leak repair rule; none applied to it."
        yield Objection(DAY, case.on, expected, case.cited(SEASONAL))
    elif not any(fact.on <= case.on <= after(fact.on, row) for fact in removals):
        expected = (
            f"Expected a visit in the {row.in_words} before {case.on} that took refrigerant out as a seasonal "
            "adjustment."
        )
        yield Objection(DAY, case.on, expected, row.citation)


def seasonal_evidence(case: Situation, details: Details) -> Iterator[Objection]:
    """Both visits moved refrigerant for the season, within one period, and no more was put back than taken out."""
    row = case.row("seasonal_variance_period")
    out, back = details.text("removal_visit"), details.text("addition_visit")
    removals = _seasonal(case, FactKind.REMOVAL, out)
    additions = _seasonal(case, FactKind.ADDITION, back)
    if row is None:
        return
    if not removals:
        expected = (
            f"Expected a visit on or before {case.on} that took refrigerant out as a seasonal adjustment."
        )
        yield Objection("removal_visit", out, expected, row.citation)
        return
    if not back:
        return
    if not additions:
        expected = (
            f"Expected a visit on or before {case.on} that put refrigerant back as a seasonal adjustment."
        )
        yield Objection("addition_visit", back, expected, row.citation)
        return
    first, last = removals[0].on, additions[-1].on
    if not first <= last <= after(first, row):
        expected = f"Expected a visit within {row.in_words} from {first}, when it was taken out."
        yield Objection("addition_visit", back, expected, row.citation)
    removed, added = (sum(fact.mass_mg or 0 for fact in facts) for facts in (removals, additions))
    if added > removed + len(removals) + len(additions):
        expected = (
            f"Expected no more than the {format_mass(removed)} that were taken out: {format_mass(added)} were put "
            "back, and what is over counts as service. Amend that visit so that the rest stands by itself."
        )
        yield Objection("addition_visit", back, expected, row.citation)


def _seasonal(case: Situation, kind: FactKind, reference: str) -> list[Fact]:
    return [
        fact for fact in case.before(kind) if fact.event == reference and fact.reason == "seasonal_variance"
    ]
