"""How the board, its cases and its appliances show where an obligation stands."""

from django import template
from django.utils.safestring import SafeString

from compliance.models import Obligation
from compliance.selectors import wording
from compliance.selectors.board import BoardState, days_left, is_pending
from portal.web.templatetags.portal_tags import status_badge

register = template.Library()

register.filter("owed_in_words", wording.owed_in_words)
register.filter("met_by_in_words", wording.met_by_in_words)
register.filter("is_pending", is_pending)

PENDING = (BoardState.OVERDUE, BoardState.DUE_SOON, BoardState.OPEN)


@register.simple_tag
def standing_badge(obligation: Obligation) -> SafeString:
    """Return where an obligation stands, as shape and words: days left or overdue while it is pending."""
    stands: str = obligation.stands  # type: ignore[attr-defined]  # an annotation
    return stands_badge(stands, days_left(obligation))


@register.simple_tag
def stands_badge(stands: str, left: int | None) -> SafeString:
    """Return where something stands, with the days left to its date, negative when overdue, while it is pending."""
    if stands not in PENDING:
        return status_badge(stands)
    return status_badge(stands, "No date yet" if left is None else wording.due_in_words(left).capitalize())
