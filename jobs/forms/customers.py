"""Forms of customers and their sites."""

import re
from functools import cache

from crispy_forms.layout import Fieldset
from django import forms
from django.core.exceptions import ValidationError

from jobs.forms.layout import DateField, RegisterForm, side_by_side
from jobs.forms.messages import shown_value
from jobs.models import Customer, Site
from jobs.models.customers import time_zones
from jobs.physics.errors import InvalidInput
from jobs.physics.quantities import parse_altitude_m
from jobs.selectors.method_changes import is_method_fixed

PLAIN_FIGURE = re.compile(r"[+-]?[\d.]+")

# Where most sites stand; every other zone of the IANA database follows below them.
COMMON_TIME_ZONES = (
    ("America/New_York", "Eastern: New York"),
    ("America/Chicago", "Central: Chicago"),
    ("America/Denver", "Mountain: Denver"),
    ("America/Phoenix", "Mountain without daylight saving: Phoenix"),
    ("America/Los_Angeles", "Pacific: Los Angeles"),
    ("America/Anchorage", "Alaska: Anchorage"),
    ("Pacific/Honolulu", "Hawaii: Honolulu"),
    ("Europe/London", "Great Britain: London"),
    ("Europe/Berlin", "Central Europe: Berlin"),
)


@cache
def time_zone_choices() -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    """Return the time zones in two groups, the common ones first."""
    common = {name for name, _ in COMMON_TIME_ZONES}
    others = sorted(name for name in time_zones() - common if "/" in name)
    return (("Common", COMMON_TIME_ZONES), ("All others", tuple((name, name) for name in others)))


class CustomerForm(RegisterForm):
    """Who owns or operates the appliances."""

    reminders_agreed_on = DateField(
        label="Agreed to them on",
        required=False,
        help_text="The day on which the customer said so; asked for where the contact is reminded.",
    )

    fieldsets = (
        Fieldset("Customer", "name", "address"),
        Fieldset("Contact", "contact_name", side_by_side("email", "phone"), "is_sent_records"),
        Fieldset("Deadline reminders", "is_reminded", "reminders_agreed_on"),
        Fieldset("Note", "note"),
    )

    class Meta:
        model = Customer
        fields = (
            "name",
            "address",
            "contact_name",
            "email",
            "phone",
            "is_sent_records",
            "is_reminded",
            "reminders_agreed_on",
            "note",
        )
        widgets = {
            "address": forms.Textarea({"rows": 3, "autocomplete": "off"}),
            "note": forms.Textarea({"rows": 3}),
        }
        help_texts = {"name": "The owner or operator, as on its letters and reports."}


class AltitudeField(forms.CharField):
    """An altitude in whole metres, typed in metres or, with its unit, in feet."""

    def __init__(self) -> None:
        super().__init__(
            label="Altitude",
            required=False,
            widget=forms.TextInput({"autocomplete": "off"}),
            help_text="Such as 5000 ft or 1524 m; a figure alone is metres. "
            "Gauges show less vacuum in thinner air: evacuation levels are told as the gauge shows them there.",
        )

    def to_python(self, value: object) -> int | None:
        """Read an altitude.

        Raises:
            ValidationError: naming the value given and what is expected.
        """
        text = super().to_python(value).strip()
        if not text:
            return None
        try:
            return round(parse_altitude_m(f"{text} m" if PLAIN_FIGURE.fullmatch(text) else text))
        except InvalidInput as problem:
            message = f"Expected {problem.expected}. You gave {shown_value(text)}."
            raise ValidationError(message, code="invalid") from None


class SiteForm(RegisterForm):
    """Where the appliances stand, and what the law needs to know of the place."""

    altitude_m = AltitudeField()

    fieldsets = (
        Fieldset(
            "Place", "name", "street", side_by_side("city", "region"), side_by_side("postal_code", "country")
        ),
        Fieldset("Law and clock", "jurisdiction", "time_zone", "leak_rate_method", "altitude_m"),
    )

    class Meta:
        model = Site
        fields = (
            *("name", "street", "city", "region", "postal_code", "country"),
            *("jurisdiction", "time_zone", "leak_rate_method", "altitude_m"),
        )
        widgets = {"leak_rate_method": forms.RadioSelect}
        help_texts = {
            "name": "What people call it, such as Market hall 2.",
            "time_zone": "Deadlines count calendar days at the site.",
        }

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        zone = self.fields["time_zone"]
        self.fields["time_zone"] = forms.ChoiceField(
            label=zone.label,
            initial=zone.initial,
            help_text=zone.help_text,
            choices=zones_with(self.instance.time_zone, "This site"),
        )
        if is_method_fixed(self.instance):
            method = self.fields["leak_rate_method"]
            method.disabled = True
            method.help_text = (
                "Leak rates were calculated by it: a change is filed as a record, on the site’s page "
                "(40 CFR 84.106(b)(3)). A mistaken entry is corrected there by the compliance officer."
            )


def zones_with(name: str, whose: str) -> list[tuple[str, tuple[tuple[str, str], ...]]]:
    """Return the choices, the zone that is on record among them even where it is an old name.

    Args:
        name: the zone on record.
        whose: what to call it where it is none of the others, such as “This site”.
    """
    groups = list(time_zone_choices())
    known = {known_name for _, group in groups for known_name, _ in group}
    if name not in known:
        groups.insert(0, (whose, ((name, name),)))
    return groups
