"""Template tags of the page frame: masses, paging, icons, status badges, form errors."""

from typing import Any

from django import template
from django.core.paginator import Page
from django.forms import BaseForm, BoundField
from django.templatetags.static import static
from django.utils.html import format_html
from django.utils.safestring import SafeString

from compliance.rulebook.masses import format_mass
from portal.web.charts import Chart, draw, draw_for_print

register = template.Library()

STATUS_WORDS = {
    "overdue": "Overdue",
    "due_soon": "Due soon",
    "open": "Open",
    "met": "Met",
    "met_late": "Met late",
    "failed": "Failed",
    "suspended": "Suspended",
    "cancelled": "Cancelled",
}
NO_BREAK_SPACE = "\u00a0"
DESK_CHART_WIDTH, PHONE_CHART_WIDTH = 720, 350


@register.filter
def mass(mass_mg: int | None, unit: str = "lb") -> str:
    """Return a mass as text in one unit, such as “7.000 lb”; an absent mass is a dash."""
    return "–" if mass_mg is None else format_mass(mass_mg, unit=unit).replace(" ", NO_BREAK_SPACE)


@register.filter
def mass_both(mass_mg: int | None) -> str:
    """Return a mass in pounds and kilograms, such as “7.000 lb (3.175 kg)”; an absent mass is a dash."""
    return "–" if mass_mg is None else f"{mass(mass_mg, 'lb')} ({mass(mass_mg, 'kg')})"


@register.filter
def mass_signed(mass_mg: int) -> str:
    """Return a difference with its sign, such as “−0.400 lb” or “+1.000 lb”; none is “0.000 lb”."""
    sign = "−" if mass_mg < 0 else "+" if mass_mg else ""
    return f"{sign}{mass(abs(mass_mg))}"


@register.simple_tag
def mass_figure(mass_mg: int) -> SafeString:
    """Return a mass as the large part of a ``.figure``: pounds, and kilograms below them."""
    value, unit = format_mass(mass_mg).split(" ")
    return format_html(
        '<span class="figure-value">{}</span> <span class="figure-unit">{}</span><span class="figure-note">{}</span>',
        value,
        unit,
        mass(mass_mg, "kg"),
    )


@register.filter
def same_as(value: Any, other: Any) -> bool:
    """Say whether two values are equal, where a template needs the answer more than once."""
    return bool(value == other)


@register.simple_tag
def icon(name: str) -> SafeString:
    """Return one drawing of the icon sheet; it carries no meaning of its own."""
    return format_html(
        '<svg class="icon" aria-hidden="true" focusable="false"><use href="{}#{}"/></svg>',
        static("web/icons.svg"),
        name,
    )


@register.simple_tag
def status_badge(status: str, word: str = "") -> SafeString:
    """Return a status as shape and word; ``word`` says it in other words, such as “Due in 3 days”."""
    return format_html(
        '<span class="status status-{}">{}</span>', status.replace("_", "-"), word or STATUS_WORDS[status]
    )


@register.simple_tag
def chart(chart: Chart) -> SafeString:
    """Return a chart as a figure: drawn for a desk and for a phone, of which the style sheet shows one."""
    broad, narrow = draw(chart, width=DESK_CHART_WIDTH), draw(chart, width=PHONE_CHART_WIDTH)
    return format_html(
        '<figure class="chart-figure"><div class="chart-broad">{}</div><div class="chart-narrow">{}</div></figure>',
        broad,
        narrow,
    )


@register.simple_tag(name="chart_for_print")
def chart_on_paper(chart: Chart) -> SafeString:
    """Return a chart as a figure of a printed document."""
    return format_html('<figure class="chart-figure">{}</figure>', draw_for_print(chart))


@register.inclusion_tag("web/partials/page_links.html", takes_context=True)
def page_links(context: dict[str, Any], page_obj: Page[Any]) -> dict[str, Any]:
    """Show which part of a list this is, with links that keep the rest of the query."""
    query = context["request"].GET.copy()
    query.pop("page", None)
    return {"page_obj": page_obj, "kept_query": f"{query.urlencode()}&" if query else ""}


@register.inclusion_tag("web/partials/form_errors.html")
def form_errors(*forms: BaseForm) -> dict[str, Any]:
    """Show what is wrong with a whole form, and a list of links to the fields that are refused."""
    return {
        "general": [error for form in forms for error in form.non_field_errors()],
        "fields": [field for form in forms for field in form if field.errors],
    }


@register.inclusion_tag("web/partials/field_errors.html")
def field_errors(field: BoundField) -> dict[str, Any]:
    """Show one field's errors, for fields that a template lays out by hand."""
    return {"field": field}
