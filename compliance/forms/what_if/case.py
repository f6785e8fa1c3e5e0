"""The question of a what-if: the day, the rules, and the appliance before its first fact."""

from typing import Any

from django import forms

from compliance.forms.events.styled import StyledForm
from compliance.forms.events.widgets import CheckTiles
from compliance.forms.what_if.boxes import refrigerant_choices
from compliance.forms.what_if.quantities import entered_mass, written_quantity
from compliance.rulebook.document import Document
from compliance.rulebook.facts import Category, LeakRateMethod
from compliance.rulebook.rules import RULE_NAMES
from compliance.selectors.wording import METHODS, RULES
from jobs.forms.layout import DateField
from jobs.forms.masses import MassField

QUESTION = ("as_of", "rules")


class CaseForm(StyledForm):
    """Everything of an ``assess`` document but its facts; a box's name is its key."""

    as_of = DateField(
        label="Asked about the day", help_text="Clocks are read on it. What happens later doesn’t count."
    )
    rules = forms.MultipleChoiceField(
        label="Under which rules", choices=[(name, RULES[name]) for name in RULE_NAMES], widget=CheckTiles
    )
    category = forms.ChoiceField(
        label="Used for", choices=[(kind.value, kind.in_words.capitalize()) for kind in Category]
    )
    refrigerant = forms.ChoiceField(choices=[("", "Choose"), *refrigerant_choices()])
    full_charge = MassField(label="Full charge")
    installed_on = DateField(label="Installed on", required=False)
    leak_rate_method = forms.ChoiceField(
        label="Leak rate method",
        choices=[(kind.value, METHODS[kind].capitalize()) for kind in LeakRateMethod],
    )
    residential_or_light_commercial = forms.BooleanField(
        label="Residential or light commercial air conditioning or heat pump",
        required=False,
        help_text="Left out of 40 CFR 84.106 by its paragraph (a)(3)(ii).",
    )
    hermetically_sealed = forms.BooleanField(
        label="Hermetically sealed",
        required=False,
        help_text="Counts in the European Union and Great Britain.",
    )
    enclosed = forms.BooleanField(
        label="In an enclosed building or structure",
        required=False,
        help_text="Counts for automatic leak detection.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.dress()

    @property
    def document(self) -> Document:
        """What was typed, as a document without facts; only once the form is valid."""
        typed = self.cleaned_data
        installed_on = typed["installed_on"]
        return {
            "as_of": typed["as_of"].isoformat(),
            "rules": typed["rules"],
            "appliance": {
                "category": typed["category"],
                "residential_or_light_commercial": typed["residential_or_light_commercial"],
                "refrigerant": typed["refrigerant"],
                "full_charge": written_quantity(typed["full_charge"]),
                "installed_on": installed_on.isoformat() if installed_on else None,
                "leak_rate_method": typed["leak_rate_method"],
                "hermetically_sealed": typed["hermetically_sealed"],
                "enclosed": typed["enclosed"],
            },
        }


def case_initial(case: Document) -> dict[str, Any]:
    """A document's question and appliance as the boxes begin with them."""
    appliance = case["appliance"]
    return {
        **{key: case[key] for key in QUESTION},
        **appliance,
        "full_charge": entered_mass(appliance["full_charge"]),
    }
