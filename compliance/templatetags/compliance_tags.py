"""Template filters that put the rulebook's names into words."""

import re

from django import template
from django.utils.html import conditional_escape
from django.utils.safestring import SafeString, mark_safe

from compliance.rulebook.results import Assessment
from compliance.selectors import forecasts, wording

register = template.Library()

# What one reads as one: a date, a paragraph of the law, a figure with its unit.
UNBROKEN = re.compile(
    r"\d{4}-\d{2}-\d{2}"
    r"|\d+ (?:CFR|CCR) [\d.]*\d(?:\([A-Za-z0-9]+\))*"
    r"|Regulation \(E[CU]\) (?:No )?\d+/\d+"
    r"|(?:Art\.|Annex) [\dIVX]+(?:\([a-z0-9]+\))*"
    r"|\d+(?:\.\d+)? (?:%|lb|kg|oz|g|days?|months?|years?)(?!\w)"
)

register.filter("kind_in_words", wording.kind_in_words)
register.filter("rule_in_words", wording.rule_in_words)
register.filter("method_in_words", wording.method_in_words)
register.filter("status_in_words", wording.status_in_words)
register.filter("no_forecast_in_words", forecasts.no_forecast_in_words)
register.filter("in_hundred", forecasts.in_hundred)


@register.filter
def why_not_covered(assessment: Assessment) -> str:
    """The reasons why no leak repair rule applies, one sentence after the other."""
    return " ".join(dict.fromkeys(verdict.because for verdict in assessment.does_not_apply))


@register.filter
def unbroken(text: object) -> SafeString:
    """A sentence of the rulebook whose dates, citations and figures with their units stay on one line each."""
    escaped = conditional_escape(text)
    return mark_safe(UNBROKEN.sub(r'<span class="text-nowrap">\g<0></span>', escaped))  # noqa: S308 -- escaped before
