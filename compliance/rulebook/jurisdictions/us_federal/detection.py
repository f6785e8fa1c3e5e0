"""Automatic leak detection: where it is asked for, its yearly calibration, and when it replaces inspections."""

from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.duties import Clock
from compliance.rulebook.facts import Fact, FactKind
from compliance.rulebook.jurisdictions.docket import Docket, after, reckoned
from compliance.rulebook.jurisdictions.inspection_chain import open_calibrations
from compliance.rulebook.jurisdictions.lifetime import Lifetime
from compliance.rulebook.masses import format_mass
from compliance.rulebook.results import ObligationKind
from compliance.rulebook.tables import Row


def waiver(docket: Docket, on: date) -> str | None:
    """Why no inspection is owed on a day: detection runs and was calibrated within the year. ``None`` if it is owed.

    Source: 40 CFR 82.157(g)(4), 40 CFR 84.106(g)(4).
    """
    if not _counts_instead(docket, on):
        return None
    row = docket.row("leak_detection_calibration", on)
    fresh = [
        fact
        for fact in docket.timeline.of_kind(
            FactKind.AUTOMATIC_LEAK_DETECTION, FactKind.LEAK_DETECTION_CALIBRATION
        )
        if fact.on <= on <= after(fact.on, row)
    ]
    if not fresh:
        return None
    done = "calibrated" if fresh[-1].kind is FactKind.LEAK_DETECTION_CALIBRATION else "installed"
    return f"{policy.WAIVER_NEEDS_CALIBRATION.sentence} ({row.citation}); it was {done} on {fresh[-1].on}."


def waiver_rests_on(docket: Docket, on: date) -> list[Row]:
    """The row of the calibration, by which it was decided whether detection that runs replaces an inspection."""
    return [docket.row("leak_detection_calibration", on)] if _counts_instead(docket, on) else []


def open_leak_detection(docket: Docket, life: Lifetime) -> None:
    """Opens the installation where it is asked for, and the calibrations of what is installed.

    Source: 40 CFR 84.108 (dates from memory), 40 CFR 82.157(g)(4), 40 CFR 84.106(g)(4).
    """
    installed = docket.timeline.of_kind(FactKind.AUTOMATIC_LEAK_DETECTION)
    if life.ended_on is None:
        _open_installation(docket, installed[0] if installed else None)
    if installed:
        row = docket.row("leak_detection_calibration", docket.timeline.as_of)
        open_calibrations(docket, row, installed[0], life)


def _counts_instead(docket: Docket, on: date) -> bool:
    installed = [fact for fact in docket.timeline.of_kind(FactKind.AUTOMATIC_LEAK_DETECTION) if fact.on <= on]
    if any(fact.detection_type == "indirect" or docket.timeline.appliance.is_enclosed for fact in installed):
        return True
    if installed:
        docket.warn(f"Direct leak detection of {installed[0].on}: {policy.DIRECT_NEEDS_ENCLOSURE}.")
    return False


def _open_installation(docket: Docket, installed: Fact | None) -> None:
    """Detection for refrigeration with a large charge; which date holds turns on when the appliance was installed."""
    as_of, appliance = docket.timeline.as_of, docket.timeline.appliance
    least = docket.find_row("automatic_leak_detection_least_charge", as_of)
    state = docket.timeline.final_state
    if least is None or state.full_charge_mg + policy.RESOLUTION.value < least.exact_mg:
        return
    if appliance.installed_on is None:
        docket.warn(
            f"The full charge of {format_mass(state.full_charge_mg)} is {least.in_words} or more, but the installation "
            f"date is not known, so it can't be said whether automatic leak detection is required ({least.citation})."
        )
        return
    rows, opened_on, due_on, words = _installation_terms(docket, least, appliance.installed_on)
    if due_on is None or opened_on > as_of:
        return
    because = (
        f"The full charge of {format_mass(state.full_charge_mg)} is {least.in_words} or more ({least.citation}). "
        f"{words}"
    )
    clock = Clock(due_on)
    kind = ObligationKind.AUTOMATIC_LEAK_DETECTION
    duty = docket.open(kind, rows[0], opened_on, clock, because, None, rests_on=[least, *rows])
    if installed is not None:
        duty.meet(installed.on, installed.event, f"Installed on {installed.on}.")


def _installation_terms(
    docket: Docket, least: Row, installed_on: date
) -> tuple[tuple[Row, ...], date, date | None, str]:
    """The row of the date and those that chose it, the day the duty begins, its due date (none if exempt), and why."""
    as_of = docket.timeline.as_of
    new = docket.row("automatic_leak_detection_new", as_of)
    if installed_on >= new.effective_from:
        return (
            (new,),
            installed_on,
            after(installed_on, new),
            f"Installed on {installed_on}: {reckoned(installed_on, new)}.",
        )
    existing = docket.row("automatic_leak_detection_existing_by", as_of)
    first = docket.row("automatic_leak_detection_installed_from", as_of)
    due_on = existing.day if installed_on >= first.day else None
    return (
        (existing, first),
        least.effective_from,
        due_on,
        f"Installed on {installed_on}, from {first.day} on but before {new.effective_from}: due {existing.day}.",
    )
