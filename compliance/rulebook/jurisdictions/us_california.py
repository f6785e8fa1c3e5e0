"""California: inspections, repair, detection and records of the Refrigerant Management Program, 17 CCR 95380 to 95398.

Not followed here: verification tests, retrofit plans, seasonal systems, inspections after an addition, registration and
annual reports. Their dates were not read in the regulation.
"""

from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.duties import Clock
from compliance.rulebook.facts import Category, Fact, FactKind
from compliance.rulebook.jurisdictions.docket import Docket, after, reckoned
from compliance.rulebook.jurisdictions.inspection_chain import open_calibrations, open_chain
from compliance.rulebook.jurisdictions.leak_repairs import open_repairs
from compliance.rulebook.jurisdictions.lifetime import Lifetime, Reach, lifetime
from compliance.rulebook.masses import format_mass
from compliance.rulebook.results import ObligationKind, RuleAssessment, RuleVerdict
from compliance.rulebook.rules import US_CALIFORNIA
from compliance.rulebook.tables import Row, Tables
from compliance.rulebook.timeline import State, Timeline

_CITATION = "17 CCR 95381"
_REFRIGERATION = (
    Category.COMMERCIAL_REFRIGERATION,
    Category.INDUSTRIAL_PROCESS_REFRIGERATION,
    Category.OTHER,
)


def assess_us_california(timeline: Timeline, tables: Tables) -> list[RuleAssessment]:
    """Inspections by size (95385), repair of any leak (95386), detection, and records (95389)."""
    docket = Docket(US_CALIFORNIA, timeline, tables)
    reach = Reach(US_CALIFORNIA, tables, lambda state, on: _verdict(docket, state, on))
    now = reach.verdict(timeline.final_state, timeline.as_of)
    life = lifetime(timeline, reach)
    if not life.ever:
        return [RuleAssessment(verdict=now)]
    _open_inspections(docket, life)
    _open_detection(docket, life)
    repair = docket.row("repair", timeline.as_of)
    open_repairs(docket, repair, lambda leak: _repair_terms(docket, leak), life)
    return [docket.finish(now)]


def _verdict(docket: Docket, state: State, on: date) -> RuleVerdict:
    category = docket.timeline.appliance.category
    if on < docket.begins_on:
        return _answer(is_applicable=False, because=f"The rule is in force from {docket.begins_on}.")
    if category not in _REFRIGERATION:
        return _answer(
            is_applicable=False, because=f"It covers stationary refrigeration, not {category.in_words}."
        )
    least_gwp = docket.row("least_gwp", on)
    refrigerant = state.refrigerant
    if not refrigerant.is_ozone_depleting and refrigerant.gwp_ar4 < least_gwp.number:
        because = (
            f"{refrigerant} has a global warming potential of {refrigerant.gwp_ar4}, below {least_gwp.value}."
        )
        return _answer(is_applicable=False, because=because)
    bound = docket.row("more_than_full_charge", on)
    is_more = state.full_charge_mg - policy.RESOLUTION.value > bound.exact_mg
    because = (
        f"The full charge of {format_mass(state.full_charge_mg)} of {refrigerant} is "
        f"{'more' if is_more else 'not more'} than {bound.in_words}."
    )
    return _answer(is_applicable=is_more, because=because)


def _answer(*, is_applicable: bool, because: str) -> RuleVerdict:
    return RuleVerdict(US_CALIFORNIA, is_applicable=is_applicable, citation=_CITATION, because=because)


def _open_inspections(docket: Docket, life: Lifetime) -> None:
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
        waived_on=lambda due_on: _waiver(docket, due_on),
    )


def _interval(docket: Docket, state: State) -> Row | None:
    """The interval of the system's size class; enclosed large systems have one of their own."""
    on, charge_mg = docket.timeline.as_of, state.full_charge_mg
    enclosed = docket.find_row("leak_inspection_interval_enclosed", on, full_charge_mg=charge_mg)
    if docket.timeline.appliance.is_enclosed and enclosed is not None:
        return enclosed
    return docket.find_row("leak_inspection_interval", on, full_charge_mg=charge_mg)


def _waiver(docket: Docket, due_on: date) -> str | None:
    """Detection replaces inspections, of large systems only inside a building (95385(a) to (c))."""
    state = docket.timeline.state_on(due_on)
    is_large = docket.find_row(
        "automatic_leak_detection_by", docket.timeline.as_of, full_charge_mg=state.full_charge_mg
    )
    if is_large is not None and not docket.timeline.appliance.is_enclosed:
        return None
    row = docket.row("leak_detection_calibration", docket.timeline.as_of)
    kinds = (FactKind.AUTOMATIC_LEAK_DETECTION, FactKind.LEAK_DETECTION_CALIBRATION)
    installed = docket.timeline.of_kind(FactKind.AUTOMATIC_LEAK_DETECTION)
    fresh = [fact for fact in docket.timeline.of_kind(*kinds) if fact.on <= due_on <= after(fact.on, row)]
    if not fresh or not any(fact.on <= due_on for fact in installed):
        return None
    done = "calibrated" if fresh[-1].kind is FactKind.LEAK_DETECTION_CALIBRATION else "installed"
    return f"{policy.WAIVER_NEEDS_CALIBRATION.sentence}; it was {done} on {fresh[-1].on}."


def _open_detection(docket: Docket, life: Lifetime) -> None:
    """Detection for large systems inside a building, and its yearly calibration where it is installed."""
    timeline = docket.timeline
    installed = timeline.of_kind(FactKind.AUTOMATIC_LEAK_DETECTION)
    charge_mg = timeline.final_state.full_charge_mg
    row = docket.find_row("automatic_leak_detection_by", timeline.as_of, full_charge_mg=charge_mg)
    starts_on = life.start(timeline.appliance.installed_on)
    is_running = starts_on is not None and starts_on <= timeline.as_of and life.ended_on is None
    if row is not None and timeline.appliance.is_enclosed and starts_on is not None and is_running:
        due_on = max(row.day, starts_on)
        because = (
            f"A system of this size inside a building needs automatic leak detection from {row.day} on, or from its "
            f"installation: {due_on}."
        )
        kind = ObligationKind.AUTOMATIC_LEAK_DETECTION
        duty = docket.open(kind, row, starts_on, Clock(due_on), because, None)
        if installed:
            duty.meet(installed[0].on, installed[0].event, f"Installed on {installed[0].on}.")
    if installed:
        calibration = docket.row("leak_detection_calibration", timeline.as_of)
        open_calibrations(docket, calibration, installed[0], life)


def _repair_terms(docket: Docket, leak: Fact) -> tuple[Clock, str]:
    """14 days, or 45 where parts or a technician can't be had or a process must be shut down, if recorded in time."""
    row = docket.row("repair", docket.timeline.as_of)
    for fact in docket.timeline.of_kind(FactKind.EXTENSION, FactKind.INDUSTRIAL_PROCESS_SHUTDOWN_REQUIRED):
        is_reason = fact.kind is not FactKind.EXTENSION or (fact.basis, fact.obligation) == (
            "parts",
            "repair",
        )
        if is_reason and leak.on <= fact.on <= after(leak.on, row):
            docket.had_effect(fact)
            longer = docket.row("repair_extended", docket.timeline.as_of)
            words = f"With what was recorded on {fact.on}, {reckoned(leak.on, longer)}."
            return Clock(after(leak.on, longer)), words
    return Clock(after(leak.on, row)), f"{reckoned(leak.on, row)}."
