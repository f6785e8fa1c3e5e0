"""Inspections that follow one another: due an interval after the last one, the first after installation."""

from collections.abc import Callable, Sequence
from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.dates import add_days
from compliance.rulebook.duties import Clock, Duty
from compliance.rulebook.facts import Fact, FactKind
from compliance.rulebook.jurisdictions.docket import Docket, after, reckoned
from compliance.rulebook.results import ObligationKind
from compliance.rulebook.tables import Row

IntervalOn = Callable[[date], Row | None]
WaivedOn = Callable[[date], str | None]


def open_chain(
    docket: Docket,
    kind: ObligationKind,
    *,
    starts_on: date,
    interval_on: IntervalOn,
    ended_on: date | None,
    waived_on: WaivedOn = lambda _: None,
) -> None:
    """Opens one row for each interval; an inspection meets it and begins the next.

    Args:
        docket: where the rows are written.
        kind: of the rows.
        starts_on: the day the first interval begins.
        interval_on: the interval of a row that begins on a day; ``None`` where none is asked for any more.
        ended_on: the day from which nothing is owed.
        waived_on: why a row with that due date isn't owed, if so.
    """
    since, event = starts_on, None
    inspected = [fact for fact in docket.timeline.of_kind(FactKind.LEAK_INSPECTION) if fact.on > starts_on]
    for fact in [*inspected, None]:
        row = interval_on(since)
        if row is None or (ended_on is not None and since >= ended_on) or since > docket.timeline.as_of:
            return
        if fact is not None and fact.on == since:
            continue
        because = f"{policy.NEXT_AFTER_EACH.sentence}: {reckoned(since, row)}."
        duty = docket.open(kind, row, since, Clock(after(since, row)), because, event)
        if fact is not None:
            duty.meet(fact.on, fact.event, f"Inspected on {fact.on}.")
            since, event = fact.on, fact.event
        else:
            _close(duty, ended_on, waived_on)


def open_checks_after_repairs(docket: Docket, row: Row, *, least_days: int, ended_on: date | None) -> None:
    """One leak check for each day with a repair, met by the first inspection at least ``least_days`` later."""
    inspected = docket.timeline.of_kind(FactKind.LEAK_INSPECTION)
    repaired: dict[date, Fact] = {}
    for repair in docket.timeline.of_kind(FactKind.REPAIR):
        repaired.setdefault(repair.on, repair)
    for on, repair in repaired.items():
        because = f"A check after the repair of {on}: {reckoned(on, row)}."
        if least_days:
            because += " Not before 24 hours of operation."
        duty = docket.open(ObligationKind.LEAK_CHECK, row, on, Clock(after(on, row)), because, repair.event)
        _meet_by_first(duty, inspected, add_days(on, least_days))
        if duty.is_pending:
            _close(duty, ended_on, lambda _: None)


def open_calibrations(docket: Docket, row: Row, installed: Fact, ended_on: date | None) -> None:
    """One row an interval from the installation of leak detection; a calibration meets it and begins the next."""
    calibrated = docket.timeline.of_kind(FactKind.LEAK_DETECTION_CALIBRATION)
    since = installed
    for fact in [*(fact for fact in calibrated if fact.on > installed.on), None]:
        if ended_on is not None and since.on >= ended_on:
            return
        if after(since.on, row) >= row.effective_from:
            because = f"Audit and calibration of leak detection: {reckoned(since.on, row)}."
            clock = Clock(after(since.on, row))
            kind = ObligationKind.LEAK_DETECTION_CALIBRATION
            duty = docket.open(kind, row, since.on, clock, because, since.event)
            if fact is not None:
                duty.meet(fact.on, fact.event, f"Calibrated on {fact.on}.")
            else:
                _close(duty, ended_on, lambda _: None)
        since = fact or since


def _meet_by_first(duty: Duty, inspected: Sequence[Fact], from_on: date) -> None:
    for fact in inspected:
        if fact.on >= from_on:
            duty.meet(fact.on, fact.event, f"Inspected on {fact.on}.")
            return


def _close(duty: Duty, ended_on: date | None, waived_on: WaivedOn) -> None:
    """Ends a pending row that is no longer owed."""
    due_on = duty.clock.base_on
    if ended_on is not None and due_on is not None and due_on > ended_on:
        duty.cancel(f"From {ended_on} on the appliance is retired or the rule no longer applies.")
    elif due_on is not None and (reason := waived_on(due_on)):
        duty.cancel(reason)
