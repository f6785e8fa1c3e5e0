"""Template filters of refrigerant properties: the units that the pages show beside those of the physics."""

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

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


@register.simple_tag
def reading_figure(reading: object) -> SafeString:
    """Return a figure with its unit, such as “143.0 psig”, as the large part of a ``.figure``."""
    value, _, unit = str(reading).partition(" ")
    return format_html(
        '<span class="figure-value">{}</span> <span class="figure-unit">{}</span>', value, unit
    )
