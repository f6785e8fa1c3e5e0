"""The boxes by which the list of filed events is narrowed."""

from django import forms

from compliance.forms.events.styled import StyledForm
from compliance.selectors.event_pages import EventFilter
from jobs.forms.layout import DateField
from jobs.models import Appliance, Technician, WorkKind


class EventListForm(StyledForm):
    """Search words and filters, all optional, sent by GET."""

    q = forms.CharField(label="Search", required=False, max_length=200)
    technician = forms.ModelChoiceField(Technician.objects.all(), required=False, empty_label="Anyone")
    work = forms.ChoiceField(label="Work", required=False, choices=[("", "Any"), *WorkKind.choices])
    since = DateField(label="From", required=False)
    until = DateField(label="To", required=False)
    appliance = forms.ModelChoiceField(Appliance.objects.all(), required=False, widget=forms.HiddenInput)
    over = forms.BooleanField(label="Over the threshold only", required=False)
    differs = forms.BooleanField(label="Mass differs from its log only", required=False)
    replaced = forms.BooleanField(label="With replaced and voided records", required=False)

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.dress()

    @property
    def wanted(self) -> EventFilter:
        """What to list; a box that can't be read narrows nothing, and says so beside it."""
        self.is_valid()
        typed = self.cleaned_data
        return EventFilter(
            search=typed.get("q") or "",
            technician=typed.get("technician"),
            work_kind=typed.get("work") or "",
            happened_from=typed.get("since"),
            happened_to=typed.get("until"),
            appliance=typed.get("appliance"),
            is_over_only=typed.get("over") or False,
            differs_from_log_only=typed.get("differs") or False,
            has_replaced=typed.get("replaced") or False,
        )

    @property
    def is_narrowed(self) -> bool:
        """Whether more than the search words narrow the list."""
        return any(value for name, value in self.cleaned_data.items() if name != "q")
