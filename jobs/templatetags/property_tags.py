"""Template filters of refrigerant properties: the units that the pages show beside those of the physics."""

from django import template

register = template.Library()

POUNDS_A_CUBIC_FOOT = 0.062427960576


@register.filter
def fahrenheit(celsius: float) -> str:
    """Return a temperature as text in °F, one decimal."""
    return f"{celsius * 1.8 + 32:.1f}\u00a0°F"


@register.filter
def kilopascals(pressure_pa: float) -> str:
    """Return a pressure as text in kPa, one decimal, without the unit."""
    return f"{pressure_pa / 1000:.1f}"


@register.filter
def pounds_a_cubic_foot(kg_m3: float) -> str:
    """Return a density as text in lb/ft³, two decimals, without the unit."""
    return f"{kg_m3 * POUNDS_A_CUBIC_FOOT:.2f}"
