"""California's automatic leak detection: where it is owed, its calibration, and the inspections it replaces."""

from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.duties import Clock
from compliance.rulebook.facts import FactKind
from compliance.rulebook.jurisdictions.docket import Docket, after
from compliance.rulebook.jurisdictions.inspection_chain import open_calibrations
from compliance.rulebook.jurisdictions.lifetime import Lifetime
from compliance.rulebook.results import ObligationKind
from compliance.rulebook.tables import Row


def waiver(docket: Docket, due_on: date) -> str | None:
    """Why no inspection is owed on a day: detection runs. Of large systems only inside a building (95385(a) to (c))."""
    installed = docket.timeline.of_kind(FactKind.AUTOMATIC_LEAK_DETECTION)
    if not installed or installed[0].on > due_on:
        return None
    state = docket.timeline.state_on(due_on)
    is_large = docket.find_row(
        "automatic_leak_detection_by", docket.timeline.as_of, full_charge_mg=state.full_charge_mg
    )
    if is_large is not None and not docket.timeline.appliance.is_enclosed:
        return None
    row = docket.row("leak_detection_calibration", docket.timeline.as_of)
    kinds = (FactKind.AUTOMATIC_LEAK_DETECTION, FactKind.LEAK_DETECTION_CALIBRATION)
    fresh = [fact for fact in docket.timeline.of_kind(*kinds) if fact.on <= due_on <= after(fact.on, row)]
    if not fresh:
        return None
    done = "calibrated" if fresh[-1].kind is FactKind.LEAK_DETECTION_CALIBRATION else "installed"
    return f"{policy.WAIVER_NEEDS_CALIBRATION.sentence}; it was {done} on {fresh[-1].on}."


def waiver_rests_on(docket: Docket, due_on: date) -> list[Row]:
    """The row of the calibration, by which it was decided whether detection that runs replaces an inspection."""
    installed = docket.timeline.of_kind(FactKind.AUTOMATIC_LEAK_DETECTION)
    is_asked = bool(installed) and installed[0].on <= due_on
    return [docket.row("leak_detection_calibration", docket.timeline.as_of)] if is_asked else []


def open_detection(docket: Docket, life: Lifetime) -> None:
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
