"""The form that decides when a kind of obligation is reminded of."""

import re
from typing import Any

from crispy_forms.layout import Fieldset
from django import forms
from django.core.exceptions import ValidationError

from compliance.models import ReminderPlan
from compliance.selectors.reminder_plans import PLANNED_KINDS
from compliance.selectors.wording import kind_in_words
from compliance.services.reminder_plans import PlanEntry
from jobs.forms.layout import DateField, page_helper, side_by_side
from jobs.forms.messages import NamedValues, shown_value

PLAN_FIELDS = ("days_before", "daily_overdue_days", "overdue_every_days", "escalate_after_days")
SEPARATORS = re.compile(r"[\s,;]+")


class DaysField(forms.CharField):
    """Whole numbers of days, typed with commas between them."""

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(map(str, value)) if isinstance(value, list | tuple) else value

    def to_python(self, value: Any) -> list[int]:
        """Read the numbers, the largest first.

        Raises:
            ValidationError: naming the value given and what is expected.
        """
        words = [word for word in SEPARATORS.split(super().to_python(value)) if word]
        if all(word.isascii() and word.isdigit() and len(word) <= len("365") for word in words):
            return sorted({int(word) for word in words}, reverse=True)
        message = f"Expected whole numbers such as 14, 7, 3, 1, 0. You gave {shown_value(value)}."
        raise ValidationError(message, code="invalid")


class ReminderPlanForm(NamedValues, forms.Form):
    """From when on, on which days before and after the due date, and why."""

    use_required_attribute = False

    days_before = DaysField(
        label="Days before the due date",
        help_text="Whole numbers with commas between them; 0 is the due date itself. Days count at the site.",
    )
    daily_overdue_days = forms.IntegerField(
        label="Each day until so many days overdue", help_text="0: not each day."
    )
    overdue_every_days = forms.IntegerField(
        label="From then on every … days", help_text="1: each day, for as long as it is owed."
    )
    escalate_after_days = forms.IntegerField(
        label="Tell the officers after so many days unacknowledged",
        required=False,
        help_text="Days at the site since a reminder that nobody of the firm acknowledged. Empty: never.",
    )
    effective_from = DateField(
        label="In force from", help_text="Reminders that were raised before stay as they are."
    )
    reason = forms.CharField(
        label="Why",
        max_length=ReminderPlan._meta.get_field("reason").max_length,  # noqa: SLF001 -- documented
    )
    also_for = forms.MultipleChoiceField(
        label="The same for", required=False, widget=forms.CheckboxSelectMultiple
    )

    fieldsets = (
        Fieldset(
            "When to remind",
            "days_before",
            side_by_side("daily_overdue_days", "overdue_every_days"),
            "escalate_after_days",
        ),
        Fieldset("The decision", "effective_from", "reason", "also_for"),
    )

    def __init__(self, *args: Any, kind: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kind = kind
        self.helper = page_helper(*self.fieldsets)
        self.fields["also_for"].choices = [
            (other, kind_in_words(other)) for other in PLANNED_KINDS if other != kind
        ]

    @property
    def decided(self) -> dict[str, Any]:
        """What was decided, as the service takes it, once the form is valid."""
        typed = self.cleaned_data
        return {
            "kinds": [self.kind, *typed["also_for"]],
            "effective_from": typed["effective_from"],
            "entry": PlanEntry(**{name: typed[name] for name in PLAN_FIELDS}),
            "reason": typed["reason"],
        }
