"""Inspections that follow one another: due an interval after the last one, the first after installation."""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from datetime import date
from operator import attrgetter

from compliance.rulebook import policy
from compliance.rulebook.dates import add_days
from compliance.rulebook.duties import Clock, Ending
from compliance.rulebook.facts import Fact, FactKind
from compliance.rulebook.grounds import Ground
from compliance.rulebook.jurisdictions.docket import Docket, after, reckoned
from compliance.rulebook.jurisdictions.lifetime import Lifetime
from compliance.rulebook.results import ObligationKind
from compliance.rulebook.tables import Row

IntervalOn = Callable[[date], Row | None]
WaivedOn = Callable[[date], str | None]
RestsOn = Callable[[date], Sequence[Ground]]

_day = attrgetter("on")


def open_chain(
    docket: Docket,
    kind: ObligationKind,
    *,
    starts_on: date,
    interval_on: IntervalOn,
    life: Lifetime,
    waived_on: WaivedOn = lambda _: None,
    waiver_rests_on: RestsOn = lambda _: (),
) -> None:
    """Opens one row for each interval; an inspection meets it and begins the next, and so does a row that is waived.

    Args:
        docket: where the rows are written.
        kind: of the rows.
        starts_on: the day the first interval begins.
        interval_on: the interval of a row that begins on a day; ``None`` where none is asked for any more.
        life: when the rule ends for the appliance.
        waived_on: why a row with that due date isn't owed, if so.
        waiver_rests_on: the rows by which that was decided.
    """
    inspected = docket.timeline.of_kind(FactKind.LEAK_INSPECTION)
    since: date | None = starts_on
    event = None
    while since is not None and since <= docket.timeline.as_of and life.runs_on(since):
        row = interval_on(since)
        if row is None:
            return
        due_on = after(since, row)
        ending = life.ending(due_on) or waiving(due_on, waived_on(due_on))
        done = first_after(inspected, since)
        because = f"{reckoned(since, row)}. {policy.NEXT_AFTER_EACH.sentence}."
        rests_on = waiver_rests_on(due_on)
        duty = docket.open(kind, row, since, Clock(due_on), because, event, rests_on=rests_on)
        duty.settle(done, "Inspected", ending)
        since, event = duty.met_on or (due_on if ending else None), duty.met_by_event


def open_checks_after_repairs(docket: Docket, row: Row, *, operation: Row | None, life: Lifetime) -> None:
    """One leak check for each day with a repair, met by the first inspection that day or later.

    Where hours of ``operation`` come between, an inspection on the day of the repair is too early.
    """
    inspected = docket.timeline.of_kind(FactKind.LEAK_INSPECTION)
    repaired: dict[date, Fact] = {}
    for repair in docket.timeline.of_kind(FactKind.REPAIR):
        repaired.setdefault(repair.on, repair)
    for on, repair in repaired.items():
        if not life.runs_on(on):
            continue
        because = f"Repaired on {on}: {reckoned(on, row)}."
        if operation is not None:
            because += f" The check comes after {operation.in_words} of operation."
        duty = docket.open(
            ObligationKind.LEAK_CHECK,
            row,
            on,
            Clock(after(on, row)),
            because,
            repair.event,
            rests_on=[] if operation is None else [operation],
        )
        done = first_after(inspected, add_days(on, -1 if operation is None else 0))
        duty.settle(done, "Inspected", life.ending(duty.clock.base_on))


def open_calibrations(docket: Docket, row: Row, installed: Fact, life: Lifetime) -> None:
    """One row an interval from the installation of leak detection; a calibration meets it and begins the next."""
    calibrated = docket.timeline.of_kind(FactKind.LEAK_DETECTION_CALIBRATION)
    since: Fact | None = installed
    while since is not None and not life.has_ended(since.on):
        due_on = after(since.on, row)
        done = first_after(calibrated, since.on)
        if due_on >= row.effective_from:
            because = f"Last installed or calibrated on {since.on}: {reckoned(since.on, row)}."
            kind = ObligationKind.LEAK_DETECTION_CALIBRATION
            duty = docket.open(kind, row, since.on, Clock(due_on), because, since.event)
            duty.settle(done, "Calibrated", life.ending(due_on))
        since = done


def waiving(due_on: date, reason: str | None) -> Ending | None:
    """The end, on its due date, of a row that something else replaces; none without a reason."""
    return Ending(due_on, reason) if reason else None


def first_after(facts: Sequence[Fact], on: date) -> Fact | None:
    """The first of the facts, which are in order, later than a day."""
    place = bisect_right(facts, on, key=_day)
    return facts[place] if place < len(facts) else None
