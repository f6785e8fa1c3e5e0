"""The field that names a refrigerant, searchable over the rulebook's table."""

from typing import Any

from django import forms

from compliance.rulebook.refrigerants import all_refrigerants
from jobs.forms.layout import SuggestInput


def _suggestions() -> list[tuple[str, str]]:
    return [(each.designation, f"safety class {each.safety_class}") for each in all_refrigerants()]


class RefrigerantField(forms.CharField):
    """An ASHRAE 34 designation; the service says if no table holds it."""

    def __init__(self, **kwargs: Any) -> None:
        attrs = {"autocapitalize": "characters", "spellcheck": "false", "placeholder": "R-…"}
        super().__init__(max_length=20, widget=SuggestInput(_suggestions(), attrs), **kwargs)
