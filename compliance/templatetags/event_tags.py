"""Template filters of the event pages."""

from django import template

from compliance.selectors import wording

register = template.Library()

register.filter("owed_in_words", wording.owed_in_words)
