"""Masses as reports print them: pounds and kilograms with three decimals, or six where three would read as nothing."""

from decimal import Decimal

from compliance.rulebook.masses import shown_in_unit


def pounds(mass_mg: int) -> Decimal:
    """The mass in pounds, as every format of a report prints it."""
    return shown_in_unit(mass_mg, "lb")


def kilograms(mass_mg: int) -> Decimal:
    """The mass in kilograms, likewise."""
    return shown_in_unit(mass_mg, "kg")
