"""What holds of an appliance on a day: as registered, unless a record of that day or before changed it."""

from collections.abc import Iterable
from datetime import date
from typing import TypeVar

from compliance.rulebook.facts import Appliance, Fact
from compliance.rulebook.refrigerants import Refrigerant
from jobs.models import Appliance as RegisteredAppliance
from jobs.selectors.full_charges import charge_method_in_words

Value = TypeVar("Value")


def charge_on(described: Appliance, facts: Iterable[Fact], on: date) -> int:
    """The full charge in force on a day, in milligrams."""
    return _in_force(described.full_charge_mg, ((fact.on, fact.full_charge_mg) for fact in facts), on)


def charge_basis_on(registered: RegisteredAppliance, facts: Iterable[Fact], on: date) -> str:
    """How the full charge in force on a day was determined: by which method, from what, or on which record."""
    changes = [fact for fact in facts if fact.full_charge_mg is not None and fact.on <= on]
    if changes:
        last = changes[-1]
        return f"{charge_method_in_words(last.method)}, {last.event or 'record'} of {last.on}"
    words = charge_method_in_words(registered.full_charge_method)
    note = registered.full_charge_note.strip()
    return f"{words}: {note}" if note else words


def refrigerant_on(described: Appliance, facts: Iterable[Fact], on: date) -> Refrigerant:
    """The refrigerant that the appliance is for on a day."""
    return _in_force(described.refrigerant, ((fact.on, fact.refrigerant) for fact in facts), on)


def _in_force(registered: Value, changes: Iterable[tuple[date, Value | None]], on: date) -> Value:
    stated = [value for day, value in changes if value is not None and day <= on]
    return stated[-1] if stated else registered
