"""The boxes by which the board is narrowed and put in order."""

import datetime
from typing import Any

from django import forms

from compliance.forms.plain import ListFilterForm
from compliance.rulebook.dates import EARLIEST_ON, LATEST_ON
from compliance.rulebook.rules import EU, UK, US_CALIFORNIA, US_FEDERAL_HFC, US_FEDERAL_ODS
from compliance.selectors.board import (
    NOT_ON_THE_BOARD,
    BoardFilter,
    BoardGroup,
    BoardHolder,
    BoardSort,
    BoardState,
)
from compliance.selectors.wording import KINDS, RULES
from jobs.forms.layout import DateField, MonthField
from jobs.models import Customer, Technician
from portal.accounts.models import User

KIND_CHOICES = [(kind.value, words.name) for kind, words in KINDS.items() if kind not in NOT_ON_THE_BOARD]
RULE_CHOICES = [(rule, RULES[rule]) for rule in (US_FEDERAL_ODS, US_FEDERAL_HFC, US_CALIFORNIA, EU, UK)]


class BoardForm(ListFilterForm):
    """Search words, filters and order."""

    state = forms.ChoiceField(required=False, choices=[("", "Any state"), *BoardState.choices])
    kind = forms.ChoiceField(label="What is owed", required=False, choices=[("", "Anything"), *KIND_CHOICES])
    customer = forms.ModelChoiceField(Customer.objects.all(), required=False, empty_label="Any customer")
    holder = forms.ChoiceField(
        label="Whose", required=False, choices=[("", "Anyone’s"), *BoardHolder.choices]
    )
    technician = forms.ModelChoiceField(
        Technician.objects.filter(is_active=True), required=False, empty_label="Anyone"
    )
    rule = forms.ChoiceField(required=False, choices=[("", "Any rule"), *RULE_CHOICES])
    due_from = DateField(label="Due from", required=False)
    due_to = DateField(label="Due to", required=False)
    group = forms.ChoiceField(
        label="Group by", required=False, choices=[("", "Nothing"), *BoardGroup.choices]
    )
    sort = forms.ChoiceField(label="Order", required=False, choices=BoardSort.choices)

    def __init__(self, *args: Any, viewer: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._viewer = viewer

    def clean(self) -> dict[str, Any]:
        """Refuse days in the wrong order, which nothing could match."""
        cleaned = super().clean() or self.cleaned_data
        first, last = cleaned.get("due_from"), cleaned.get("due_to")
        if first and last and last < first:
            self.add_error("due_to", f"Expected a date from {first} on. You gave “{last}”.")
        return cleaned

    @property
    def wanted(self) -> BoardFilter:
        """What to show."""
        self.is_valid()
        typed = self.cleaned_data
        return BoardFilter(
            search=typed.get("q") or "",
            customer=typed.get("customer"),
            technician=typed.get("technician"),
            holder=typed.get("holder") or "",
            viewer=self._viewer,
            kind=typed.get("kind") or "",
            rule=typed.get("rule") or "",
            state=typed.get("state") or "",
            due_from=typed.get("due_from"),
            due_to=typed.get("due_to"),
            sort=typed.get("sort") or BoardSort.DUE,
            group=typed.get("group") or "",
            is_own_first=hasattr(self._viewer, "technician") and not typed.get("sort"),
        )

    @property
    def is_narrowed(self) -> bool:
        """Whether anything but order and grouping is chosen."""
        return bool(self.errors) or any(self._narrowing.values())

    @property
    def in_words(self) -> str:
        """What is chosen, such as “Customer: Alder Hospital, State: Overdue”; empty where nothing narrows."""
        self.is_valid()
        return ", ".join(
            f"{self.fields[name].label or name.capitalize()}: {self._chosen(name, value)}"
            for name, value in self._narrowing.items()
            if value
        )

    @property
    def _narrowing(self) -> dict[str, Any]:
        return {name: value for name, value in self.cleaned_data.items() if name not in ("sort", "group")}

    def _chosen(self, name: str, value: Any) -> str:
        field = self.fields[name]
        if isinstance(field, forms.ChoiceField) and not isinstance(field, forms.ModelChoiceField):
            return str(dict(field.choices)[value])
        return str(value)


class BoardCalendarForm(BoardForm):
    """The board's filters that make sense of a month, and the month."""

    month = MonthField(required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("due_from", "due_to", "group", "sort"):
            del self.fields[name]

    def clean_month(self) -> datetime.date | None:
        """Refuse a month of another age, around which the calendar has no others."""
        month = self.cleaned_data["month"]
        if month and not EARLIEST_ON <= month <= LATEST_ON:
            expected = f"Expected a month from {EARLIEST_ON:%Y-%m} to {LATEST_ON:%Y-%m}."
            raise forms.ValidationError(f"{expected} You gave “{month.isoformat()[:7]}”.")
        return month

    @property
    def _narrowing(self) -> dict[str, Any]:
        return {name: value for name, value in super()._narrowing.items() if name != "month"}
