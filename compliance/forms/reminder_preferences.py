"""The form by which a person chooses how reminders come by e-mail."""

import datetime
from typing import Any

from crispy_forms.layout import Fieldset
from django import forms
from django.core.exceptions import ValidationError

from compliance.models import ReminderPreference
from compliance.selectors.sending_hours import HOURS
from jobs.forms.customers import zones_with
from jobs.forms.layout import RegisterForm, side_by_side
from jobs.forms.messages import shown_value

HOUR_CHOICES = [(hour, f"{hour:02}:00") for hour in HOURS]


class ClockField(forms.TimeField):
    """A reading of the clock, of hours and minutes."""

    widget = forms.TimeInput({"type": "time"}, "%H:%M")
    input_formats = ("%H:%M", "%H:%M:%S")

    def to_python(self, value: Any) -> datetime.time | None:
        """Read a time.

        Raises:
            ValidationError: naming the value given and what is expected.
        """
        try:
            clock = super().to_python(value)
        except ValidationError:
            message = f"Expected a time such as 21:30. You gave {shown_value(value)}."
            raise ValidationError(message, code="invalid") from None
        return clock and clock.replace(second=0, microsecond=0)


class ReminderPreferenceForm(RegisterForm):
    """Single e-mails or a digest, when it is quiet, and by which clock."""

    digest_hour = forms.TypedChoiceField(label="Digest at", choices=HOUR_CHOICES, coerce=int)
    quiet_from = ClockField(label="Quiet from", required=False)
    quiet_to = ClockField(
        label="Quiet until", required=False, help_text="May be the next morning; both or neither."
    )

    fieldsets = (
        Fieldset("By e-mail", "rhythm", "digest_hour"),
        Fieldset("Your clock", "time_zone", side_by_side("quiet_from", "quiet_to")),
    )

    class Meta:
        model = ReminderPreference
        fields = ("rhythm", "digest_hour", "quiet_from", "quiet_to", "time_zone")
        widgets = {"rhythm": forms.RadioSelect}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["digest_hour"].help_text = "Used for the digest alone. An empty digest isn’t sent."
        self.fields["time_zone"] = forms.ChoiceField(
            label="Your time zone",
            choices=zones_with(self.instance.time_zone, "Yours"),
            help_text="Hours here are those on the clock there, daylight saving included.",
        )
