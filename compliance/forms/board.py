"""The boxes by which the board is narrowed and put in order."""

from typing import Any

from django import forms

from compliance.rulebook.rules import EU, UK, US_CALIFORNIA, US_FEDERAL_HFC, US_FEDERAL_ODS
from compliance.selectors.board import NOT_ON_THE_BOARD, BoardFilter, BoardSort, BoardState
from compliance.selectors.wording import KINDS, RULES
from jobs.forms.messages import NamedValues
from jobs.models import Customer, Technician

KIND_CHOICES = [(kind.value, words.name) for kind, words in KINDS.items() if kind not in NOT_ON_THE_BOARD]
RULE_CHOICES = [(rule, RULES[rule]) for rule in (US_FEDERAL_ODS, US_FEDERAL_HFC, US_CALIFORNIA, EU, UK)]


class BoardForm(NamedValues, forms.Form):
    """Search words, filters and order, all optional, sent by GET."""

    q = forms.CharField(label="Search", required=False, max_length=200)
    state = forms.ChoiceField(required=False, choices=[("", "Any state"), *BoardState.choices])
    kind = forms.ChoiceField(label="What is owed", required=False, choices=[("", "Anything"), *KIND_CHOICES])
    customer = forms.ModelChoiceField(Customer.objects.all(), required=False, empty_label="Any customer")
    technician = forms.ModelChoiceField(
        Technician.objects.filter(is_active=True), required=False, empty_label="Anyone"
    )
    rule = forms.ChoiceField(required=False, choices=[("", "Any rule"), *RULE_CHOICES])
    sort = forms.ChoiceField(label="Order", required=False, choices=BoardSort.choices)

    use_required_attribute = False

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        for field in self.fields.values():
            is_select = isinstance(field.widget, forms.Select)
            field.widget.attrs["class"] = "form-select" if is_select else "form-control"

    @property
    def wanted(self) -> BoardFilter:
        """What to show; a box that can't be read narrows nothing, and says so beside it."""
        self.is_valid()
        typed = self.cleaned_data
        return BoardFilter(
            search=typed.get("q") or "",
            customer=typed.get("customer"),
            technician=typed.get("technician"),
            kind=typed.get("kind") or "",
            rule=typed.get("rule") or "",
            state=typed.get("state") or "",
            sort=typed.get("sort") or BoardSort.DUE,
        )

    @property
    def is_narrowed(self) -> bool:
        """Whether anything but the order is chosen."""
        return any(value for name, value in self.cleaned_data.items() if name != "sort") or bool(self.errors)
