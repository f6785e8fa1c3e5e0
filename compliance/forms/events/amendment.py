"""Why a filed record is amended or voided."""

from django import forms

from compliance.forms.events.styled import StyledForm


class AmendmentForm(StyledForm):
    """The reason, which stands in the record beside who gave it and when."""

    reason = forms.CharField(
        label="Reason",
        widget=forms.Textarea({"rows": 2}),
        error_messages={
            "required": "Say why the record is changed; it stays readable with your name and the time."
        },
    )

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        self.dress()
