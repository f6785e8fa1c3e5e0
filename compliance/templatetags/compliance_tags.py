"""Template filters that put the rulebook's names into words."""

from django import template

from compliance.rulebook.results import Assessment
from compliance.selectors import wording

register = template.Library()

register.filter("kind_in_words", wording.kind_in_words)
register.filter("rule_in_words", wording.rule_in_words)
register.filter("method_in_words", wording.method_in_words)
register.filter("status_in_words", wording.status_in_words)


@register.filter
def why_not_covered(assessment: Assessment) -> str:
    """The reasons why no leak repair rule applies, one sentence after the other."""
    return " ".join(dict.fromkeys(verdict.because for verdict in assessment.does_not_apply))
