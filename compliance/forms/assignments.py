"""The form that gives an obligation to somebody."""

from typing import Any

from django import forms

from compliance.models import ObligationAssignment
from compliance.selectors.assignments import assignable_technicians, assignable_users
from jobs.forms.messages import NamedValues
from jobs.models import Technician
from portal.accounts.models import User


class AssignmentForm(NamedValues, forms.Form):
    """Who is to have it, and a word to them."""

    person = forms.ChoiceField(
        label="Who is to have it",
        required=False,
        help_text="They are reminded, and so are still the appliance’s technician and the compliance officers.",
    )
    note = forms.CharField(
        required=False,
        max_length=ObligationAssignment._meta.get_field("note").max_length,  # noqa: SLF001 -- Django documents it
        help_text="A word to whoever gets it; it stays in the history.",
    )

    def __init__(self, *args: Any, appliance_technician: Technician | None, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        default = f"{appliance_technician}, who looks after" if appliance_technician else "Nobody named for"
        technicians = {f"technician:{person.pk}": person for person in assignable_technicians()}
        users = {f"user:{person.pk}": person for person in assignable_users()}
        self._people: dict[str, Technician | User] = {**technicians, **users}
        self.fields["person"].widget.attrs["class"] = "form-select"
        self.fields["note"].widget.attrs["class"] = "form-control"
        self.fields["person"].choices = [
            ("", f"{default} the appliance"),
            ("Technicians", [(value, person.full_name) for value, person in technicians.items()]),
            ("Office", [(value, person.full_name) for value, person in users.items()]),
        ]

    @property
    def chosen(self) -> dict[str, Any]:
        """The person as the service takes them; neither where it goes back to the appliance's technician."""
        person = self._people.get(self.cleaned_data["person"])
        return {
            "technician": person if isinstance(person, Technician) else None,
            "user": person if isinstance(person, User) else None,
        }
