"""Leak inspections, chronic leak reports and retention of one federal rule: what follows the calendar.

Source: 40 CFR 82.157(g), (j), (l) and 84.106(g), (j), (l), with the documented choices where the text leaves room.
"""

from datetime import date
from fractions import Fraction

from tests.oracle.detection import replaces_inspection
from tests.oracle.rates import ODS, POUND_MG, LeakRates, is_subject, reached
from tests.oracle.records import State, Unsettled, months_later
from tests.oracle.repair_cases import RepairCases

Shown = dict[str, object]
QUARTERLY = {"commercial_refrigeration", "industrial_process_refrigeration"}


def is_quarterly(rates: LeakRates, on: date) -> bool:
    """Whether inspections that begin on a day are owed every three months, by the full charge then."""
    of_day = [fact.order for fact in rates.facts if fact.on == on]
    bands = {reached(rates.states[order].full_charge_mg, 500 * POUND_MG, 1) for order in of_day}
    if len(bands) > 1:
        raise Unsettled("a charge that crosses 500 lb on the day that inspections begin")
    return bands.pop() and rates.request["appliance"]["category"] in QUARTERLY


def leak_inspections(rates: LeakRates, cases: RepairCases, as_of: date) -> list[Shown]:
    over = [row.on for row in rates.rows if row.exceeds]
    if not over:
        return []
    if _comes_or_goes(rates, as_of):
        raise Unsettled("inspections of an appliance that comes under the rule or out of it")
    anchors = over if rates.rule == ODS else cases.follow_ups_passed
    if cases.retired_on in anchors:
        raise Unsettled("retired on the day of the exceedance or the test")
    rows: list[Shown] = []
    grid_ends_on: date | None = None
    for number, anchor in enumerate(anchors):
        if rates.rule == ODS:
            # A later exceedance starts a new grid only when the old one has come to its end.
            if rows and (grid_ends_on is None or anchor <= grid_ends_on):
                continue
            stop = cases.retired_on
        else:
            stop = min(filter(None, [cases.retired_on, *anchors[number + 1 : number + 2]]), default=None)
        grid, grid_ends_on = _grid(rates, anchor, over, stop, as_of)
        rows += grid
    return rows


def _comes_or_goes(rates: LeakRates, as_of: date) -> bool:
    """Whether a change of charge or refrigerant brings the appliance under the rule or out of it."""
    return len({is_subject(rates.rule, rates.request, state, as_of) for state in rates.states}) > 1


def _grid(
    rates: LeakRates, anchor: date, over: list[date], stop: date | None, as_of: date
) -> tuple[list[Shown], date | None]:
    """The rows from one anchor, up to the first one not yet past, and the day the grid ended if it did."""
    quarterly = is_quarterly(rates, anchor)
    needed = 4 if quarterly else 1
    inspections = sorted({fact.on for fact in rates.facts if fact.kind == "leak_inspection"})
    rows: list[Shown] = []
    calm, number, previous = 0, 0, anchor
    while calm < needed:
        number += 1
        due = _due(rates.rule, anchor, number, quarterly=quarterly)
        if stop is not None and due == stop:
            raise Unsettled("an inspection due on the day its grid stops")
        is_first = number == 1
        done = [
            day for day in inspections if day > previous or (is_first and rates.rule == ODS and day == anchor)
        ]
        rows.append(due_row("leak_inspection", previous, due, done[0] if done else None, as_of))
        if (
            replaces_inspection(rates, due)
            and (stop is None or due <= stop)
            and not (done and done[0] <= due)
        ):
            rows[-1].update(status="cancelled", met_on=None)
        if stop is not None and due > stop:
            if done and done[0] <= due:
                if done[0] == stop:
                    raise Unsettled("an inspection on the day its grid stops")
                if done[0] > stop:
                    rows[-1].update(status="cancelled", met_on=None)
            else:
                rows[-1].update(status="cancelled", met_on=None)
            return rows, stop
        if due >= as_of:
            return rows, None
        is_over = any(previous < day <= due for day in over)
        if rates.rule == ODS and not quarterly and is_first:
            is_over = True
        calm = 0 if is_over else calm + 1
        previous = due
    return rows, previous


def _due(rule: str, anchor: date, number: int, *, quarterly: bool) -> date:
    if quarterly:
        return months_later(anchor, 3 * number)
    if rule == ODS:
        return date(anchor.year + number - 1, 12, 31)
    return months_later(anchor, 12 * number)


def due_row(kind: str, opened_on: date, due_on: date | None, met_on: date | None, as_of: date) -> Shown:
    """A row that is met on a day, or open, or overdue on the day asked."""
    status = "overdue" if due_on is not None and due_on < as_of else "open"
    if met_on is not None:
        status = "met" if due_on is None or met_on <= due_on else "met_late"
    return {
        "kind": kind,
        "opened_on": opened_on,
        "due_on": due_on,
        "status": status,
        "met_on": met_on,
    }


def chronic_leak_reports(rates: LeakRates, as_of: date) -> list[Shown]:
    rows = []
    for year in sorted({charge.on.year for charge in rates.charges}):
        state = _state_at(rates, date(year, 12, 31))
        bound = state.full_charge_mg * Fraction(5, 4)
        total = few = many = 0
        opened_on = None
        for charge in rates.charges:
            if not charge.is_service or charge.on.year != year:
                continue
            if not is_subject(rates.rule, rates.request, rates.states[charge.order], charge.on):
                continue
            total += max(0, charge.net_mg)
            few += charge.additions
            many += charge.additions + charge.other_entries
            if reached(total, bound, few) != reached(total, bound, many):
                raise Unsettled("whether removals are entries")
            if opened_on is None and reached(total, bound, few):
                opened_on = charge.on
        if opened_on is not None:
            rows.append(_report(rates, year, opened_on, as_of))
    return rows


def _state_at(rates: LeakRates, day: date) -> State:
    later = [fact.order for fact in rates.facts if fact.on > day]
    # `states[n]` is the appliance as of the nth fact, with what that fact changed.
    return rates.states[later[0] - 1] if later and later[0] > 0 else rates.states[-1]


def _report(rates: LeakRates, year: int, opened_on: date, as_of: date) -> Shown:
    due_on = date(year + 1, 3, 1)
    reports = [fact for fact in rates.facts if fact.kind == "chronic_leak_report_filed"]
    filed = [fact.on for fact in reports if fact.detail["year"] == year]
    return due_row("chronic_leak_report", opened_on, due_on, filed[0] if filed else None, as_of)


def record_retention(rates: LeakRates, as_of: date) -> list[Shown]:
    days = [*((rates.states[fact.order], fact.on) for fact in rates.facts), (rates.states[-1], as_of)]
    if not rates.facts or not any(is_subject(rates.rule, rates.request, state, on) for state, on in days):
        return []
    newest = rates.facts[-1].on
    return [
        {
            "kind": "record_retention",
            "opened_on": newest,
            "due_on": months_later(newest, 36),
            "status": "open",
            "met_on": None,
        }
    ]
