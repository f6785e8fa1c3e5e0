"""Masses as reports print them: pounds and kilograms with three decimals."""

from decimal import Decimal

from compliance.rulebook.masses import mass_answer


def pounds(mass_mg: int) -> Decimal:
    """The mass in pounds, as every format of a report prints it."""
    return Decimal(str(mass_answer(mass_mg)["lb"]))


def kilograms(mass_mg: int) -> Decimal:
    """The mass in kilograms, likewise."""
    return Decimal(str(mass_answer(mass_mg)["kg"]))
