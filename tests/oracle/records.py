"""Reads an `assess` request into plain facts, the slow and obvious way; nothing is shared with the portal.

Masses become whole milligrams, days become dates, and what one service event did becomes one charge.
"""

from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from math import floor
from typing import Any

Json = dict[str, Any]

# The international avoirdupois pound of 1959, exact; the rest are its parts or the metric units.
MG_PER_UNIT = {
    "kg": Fraction(1_000_000),
    "g": Fraction(1_000),
    "lb": Fraction(45_359_237, 100),
    "oz": Fraction(45_359_237, 1600),
}


class Unsettled(Exception):
    """The documented choices don't say what holds here, so no answer is demanded."""


@dataclass(frozen=True)
class Fact:
    order: int
    on: date
    kind: str
    detail: Json


@dataclass(frozen=True)
class State:
    """An appliance between two facts."""

    refrigerant: str
    full_charge_mg: int


@dataclass
class Charge:
    """What one event added: a row of leak rates when it's service, else only a day on which refrigerant was added."""

    on: date
    order: int
    is_service: bool
    leak: str | None = None
    net_mg: int = 0
    purged_mg: int = 0
    additions: int = 0
    other_entries: int = 0
    orders: list[int] = field(default_factory=list)


def milligrams(quantity: Json) -> int:
    if "value" in quantity:
        exact = Fraction(str(quantity["value"])) * MG_PER_UNIT[quantity["unit"]]
    else:
        exact = sum(
            (Fraction(str(amount)) * MG_PER_UNIT[unit] for unit, amount in quantity.items()), Fraction(0)
        )
    return floor(exact + Fraction(1, 2))


def read_facts(request: Json) -> list[Fact]:
    """The facts up to the day asked, by day, those of one day as given."""
    raw = [(date.fromisoformat(fact["on"]), position, fact) for position, fact in enumerate(request["facts"])]
    raw.sort(key=lambda item: (item[0], item[1]))
    as_of = date.fromisoformat(request["as_of"])
    return [Fact(order, on, fact["kind"], fact) for order, (on, _, fact) in enumerate(raw) if on <= as_of]


def states(request: Json, facts: list[Fact]) -> list[State]:
    """The appliance as each fact leaves it, and at last; a change holds for its own day's later facts."""
    appliance = request["appliance"]
    state = State(appliance["refrigerant"], milligrams(appliance["full_charge"]))
    found = []
    for fact in facts:
        if fact.kind == "full_charge_change":
            state = State(state.refrigerant, milligrams(fact.detail["full_charge"]))
        if fact.kind == "retrofitted":
            state = State(fact.detail["refrigerant"], milligrams(fact.detail["full_charge"]))
        found.append(state)
    return [*found, state]


def charges(facts: list[Fact]) -> list[Charge]:
    """Every event that added refrigerant, in order, with its net mass."""
    by_event: dict[object, Charge] = {}
    for fact in facts:
        if fact.kind == "addition":
            _count_addition(by_event, _event_of(fact, facts), fact, facts)
    for fact in facts:
        if fact.kind == "removal" and fact.detail.get("reason", "service") == "service":
            charge = by_event.get(_event_of(fact, facts))
            if charge is not None and charge.is_service:
                charge.net_mg -= milligrams(fact.detail["mass"])
                charge.other_entries += 1
    return sorted(by_event.values(), key=lambda charge: charge.order)


def _count_addition(by_event: dict[object, Charge], event: object, fact: Fact, facts: list[Fact]) -> None:
    reason = fact.detail.get("reason", "service")
    mass = milligrams(fact.detail["mass"])
    counted = mass
    if reason == "seasonal_variance":
        counted = _seasonal_excess(fact, facts)
        if 0 < counted <= 4:
            raise Unsettled("a seasonal excess within the resolution")
    is_service = reason == "service" or (reason == "seasonal_variance" and counted > 0)
    charge = by_event.setdefault(event, Charge(fact.on, fact.order, is_service, fact.detail.get("leak")))
    if charge.is_service != is_service or charge.leak != fact.detail.get("leak"):
        raise Unsettled("one event with additions of different reasons or leaks")
    charge.orders.append(fact.order)
    charge.net_mg += counted
    charge.additions += 1
    if counted != mass:
        charge.other_entries += 1
    if "purged_and_destroyed" in fact.detail:
        purged = milligrams(fact.detail["purged_and_destroyed"])
        charge.net_mg -= purged
        charge.purged_mg += purged
        charge.other_entries += 1


def _event_of(fact: Fact, facts: list[Fact]) -> object:
    if "event" in fact.detail:
        return ("named", fact.on, fact.detail["event"])
    that_day = [other for other in facts if other.on == fact.on and other.kind == "addition"]
    if fact.kind == "addition" and all("event" not in f.detail and "leak" not in f.detail for f in that_day):
        return ("the day's only one", fact.on)
    if fact.kind == "removal" and that_day:
        raise Unsettled("a removal without an event on a day with additions")
    return ("its own", fact.order)


def months_later(day: date, months: int) -> date:
    """The same day of the month, or the month's last."""
    month_index = day.year * 12 + day.month - 1 + months
    year, month = divmod(month_index, 12)
    for last in (day.day, 30, 29, 28):
        try:
            return date(year, month + 1, min(day.day, last))
        except ValueError:
            continue
    raise AssertionError(day)


def _seasonal_excess(fact: Fact, facts: list[Fact]) -> int:
    """What this seasonal addition exceeds the removals of the 12 months before by, each removal drawn down once."""
    removals = [
        [other.order, other.on, milligrams(other.detail["mass"])]
        for other in facts
        if other.kind == "removal" and other.detail.get("reason") == "seasonal_variance"
    ]
    excess = 0
    for addition in facts:
        if addition.kind != "addition" or addition.detail.get("reason") != "seasonal_variance":
            continue
        if addition.order > fact.order:
            break
        excess = milligrams(addition.detail["mass"])
        for removal in removals:
            order, removed_on, left = removal
            if months_later(removed_on, 12) == addition.on:
                raise Unsettled("a removal exactly twelve months before")
            if order < addition.order and addition.on < months_later(removed_on, 12):
                drawn = min(left, excess)
                removal[2] -= drawn
                excess -= drawn
    return excess
