"""Of which day, and of which year, a paper of a case is printed."""

from django import forms

from compliance.forms.as_of import AsOfForm
from compliance.rulebook.dates import EARLIEST_ON, LATEST_ON


class FilingPaperForm(AsOfForm):
    """A day up to today at the site, and a calendar year; that of the day unless given."""

    year = forms.IntegerField(
        required=False,
        min_value=EARLIEST_ON.year,
        max_value=LATEST_ON.year,
        error_messages={"invalid": "Expected a year such as 2026."},
    )
