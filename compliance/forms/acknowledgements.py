"""The form that goes with an acknowledgement."""

from django import forms

from compliance.models import ReminderAcknowledgement
from jobs.forms.messages import NamedValues


class AcknowledgementForm(NamedValues, forms.Form):
    """A word to whoever looks at the case; may be left empty."""

    use_required_attribute = False

    note = forms.CharField(
        label="A word on it, if you like",
        required=False,
        max_length=ReminderAcknowledgement._meta.get_field("note").max_length,  # noqa: SLF001 -- Django documents it
        widget=forms.TextInput({"class": "form-control"}),
    )
