"""Masses as people type them, from and to the quantities of an ``assess`` document."""

from decimal import Decimal
from typing import Any

from compliance.rulebook.document import quantity
from jobs.models import MassUnit
from jobs.services.entries import EnteredMass

# JSON's numbers keep so many digits wherever they are read.
DIGITS_MAX = 15


def entered_mass(written: dict[str, Any]) -> EnteredMass:
    """A quantity of a document as if it had been typed."""
    if "unit" in written:
        return EnteredMass.parse(str(written["value"]), written["unit"])
    return EnteredMass.parse(f"{written['lb']}+{written['oz']}", MassUnit.LB_OZ)


def written_quantity(mass: EnteredMass) -> dict[str, Any]:
    """A typed mass as a quantity, in the unit it was typed in unless its figure is too long to be written so."""
    figures = [Decimal(part.strip()) for part in mass.value.split("+")]
    if any(len(figure.as_tuple().digits) > DIGITS_MAX for figure in figures):
        return quantity(mass.mass_mg)
    numbers = [int(figure) if figure == figure.to_integral_value() else figure for figure in figures]
    if mass.unit == MassUnit.LB_OZ:
        return dict(zip(("lb", "oz"), numbers, strict=True))
    return {"value": numbers[0], "unit": mass.unit}
