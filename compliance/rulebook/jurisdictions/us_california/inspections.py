"""California's leak inspections: at the interval of the system's size, at a large addition, at a start-up (95385)."""

from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.additions import Addition, CollectedAdditions
from compliance.rulebook.dates import add_days
from compliance.rulebook.duties import Clock
from compliance.rulebook.facts import FactKind
from compliance.rulebook.jurisdictions.docket import Docket, after, reckoned
from compliance.rulebook.jurisdictions.inspection_chain import first_after, open_chain
from compliance.rulebook.jurisdictions.lifetime import Lifetime
from compliance.rulebook.jurisdictions.us_california.detection import waiver, waiver_rests_on
from compliance.rulebook.masses import format_mass
from compliance.rulebook.results import ObligationKind
from compliance.rulebook.tables import Row
from compliance.rulebook.timeline import State


def open_inspections(docket: Docket, life: Lifetime, additions: CollectedAdditions) -> None:
    """Opens every inspection that the system's size, a large addition or a start-up asks for."""
    _open_by_interval(docket, life)
    _open_at_additions(docket, life, additions)
    _open_at_start_ups(docket, life)


def _open_by_interval(docket: Docket, life: Lifetime) -> None:
    """One chain from installation, or from the rule's first day where it was installed earlier."""
    timeline = docket.timeline
    starts_on = life.start(timeline.appliance.installed_on)
    if starts_on is None:
        docket.warn("The installation date is not known, so the first leak inspection has no due date.")
        first = next(iter(timeline.of_kind(FactKind.LEAK_INSPECTION)), None)
        if first is None:
            return
        starts_on = first.on
    open_chain(
        docket,
        ObligationKind.LEAK_INSPECTION,
        starts_on=max(starts_on, docket.begins_on),
        interval_on=lambda on: _interval(docket, timeline.state_on(on)),
        life=life,
        waived_on=lambda due_on: waiver(docket, due_on),
        waiver_rests_on=lambda due_on: waiver_rests_on(docket, due_on),
    )


def _interval(docket: Docket, state: State) -> Row | None:
    """The interval of the system's size class; enclosed large systems have one of their own."""
    on, charge_mg = docket.timeline.as_of, state.full_charge_mg
    enclosed = docket.find_row("leak_inspection_interval_enclosed", on, full_charge_mg=charge_mg)
    if docket.timeline.appliance.is_enclosed and enclosed is not None:
        return enclosed
    return docket.find_row("leak_inspection_interval", on, full_charge_mg=charge_mg)


def _open_at_additions(docket: Docket, life: Lifetime, additions: CollectedAdditions) -> None:
    """An inspection at each event that added the greater of so many pounds and so great a part of the charge."""
    inspected = docket.timeline.of_kind(FactKind.LEAK_INSPECTION)
    for addition in additions.rows:
        if not addition.is_counted or addition.on < docket.begins_on or not life.runs_on(addition.on):
            continue
        pounds = docket.row("leak_inspection_after_addition", addition.on)
        part = docket.row("leak_inspection_after_addition_part", addition.on)
        at_most_mg = addition.charged_mg + policy.RESOLUTION.value * addition.entries
        if at_most_mg < pounds.exact_mg or at_most_mg < addition.state.full_charge_mg * part.part:
            continue
        because = _addition_in_words(addition, pounds, part)
        kind, clock = ObligationKind.LEAK_INSPECTION, Clock(addition.on)
        rests_on = [part, *additions.season_on(addition.on)]
        duty = docket.open(kind, pounds, addition.on, clock, because, addition.event, rests_on=rests_on)
        duty.settle(first_after(inspected, add_days(addition.on, -1)), "Inspected", life.ending(addition.on))


def _addition_in_words(addition: Addition, pounds: Row, part: Row) -> str:
    return (
        f"{format_mass(addition.charged_mg)} added on {addition.on} to a full charge of "
        f"{format_mass(addition.state.full_charge_mg)}, which is {pounds.in_words} or {part.in_words} of it or "
        f"more, whichever is greater. {policy.INSPECT_WITH_THE_ADDITION.sentence}."
    )


def _open_at_start_ups(docket: Docket, life: Lifetime) -> None:
    """An inspection some days after each return to service of a system that had been shut down."""
    inspected = docket.timeline.of_kind(FactKind.LEAK_INSPECTION)
    shut_down_on: date | None = None
    for fact in docket.timeline.of_kind(FactKind.MOTHBALLED, FactKind.RETURNED_TO_SERVICE):
        if fact.kind is FactKind.MOTHBALLED:
            shut_down_on = fact.on
        elif shut_down_on is not None:
            shut_down_on = None
            if fact.on < docket.begins_on or not life.runs_on(fact.on):
                continue
            row = docket.row("leak_inspection_after_start_up", fact.on)
            because = f"{reckoned(fact.on, row)}. {policy.RETURN_IS_A_START_UP.sentence}."
            clock = Clock(after(fact.on, row))
            duty = docket.open(ObligationKind.LEAK_INSPECTION, row, fact.on, clock, because, fact.event)
            done = first_after(inspected, add_days(fact.on, -1))
            duty.settle(done, "Inspected", life.ending(clock.base_on))
