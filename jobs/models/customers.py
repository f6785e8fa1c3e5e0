"""Customers (owners or operators of appliances) and their sites."""

import functools
import zoneinfo

from django.core.exceptions import ValidationError
from django.db import models
from simple_history.models import HistoricalRecords


class Jurisdiction(models.TextChoices):
    """Where a site stands; the rule sets that follow from it are in the rulebook's names."""

    US_FEDERAL = "us-federal", "United States"
    US_CALIFORNIA = "us-california", "United States: California"
    EU = "eu", "European Union"
    UK = "uk", "United Kingdom (Great Britain)"


class LeakRateMethod(models.TextChoices):
    """The two methods of 40 CFR 82.152 and 84.102; one for all appliances at a facility."""

    ANNUALIZING = "annualizing", "Annualizing method"
    ROLLING_AVERAGE = "rolling_average", "Rolling average method"


@functools.cache
def time_zones() -> frozenset[str]:
    """The names in the time zone database; read once, since that takes longer than the rest of filing a site."""
    return frozenset(zoneinfo.available_timezones())


def validate_time_zone(name: str) -> None:
    """Refuse a name that the time zone database doesn't hold."""
    if name not in time_zones():
        message = "“%(value)s” is not a time zone of the IANA database, such as America/Chicago."
        raise ValidationError(message, params={"value": name})


class Customer(models.Model):
    """A firm or person that owns or operates appliances."""

    name = models.CharField(max_length=160, unique=True)
    contact_name = models.CharField(max_length=120, blank=True)
    email = models.EmailField("e-mail address", blank=True)
    phone = models.CharField(max_length=40, blank=True)
    address = models.TextField("postal address", blank=True)
    is_reminded = models.BooleanField(
        "send deadline reminders to the contact",
        default=False,
        help_text="Only where the customer agreed to it.",
    )
    reminders_agreed_on = models.DateField(
        "agreed to them on", null=True, blank=True, help_text="The day on which the customer said so."
    )
    is_sent_records = models.BooleanField(
        "send service records to the contact",
        default=True,
        help_text="Each filed record goes to the e-mail address as a PDF: whoever services an appliance hands its "
        "owner or operator the record of it (40 CFR 84.106(l)(4)). Untick it where you hand them over on paper.",
    )
    note = models.TextField(blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ("name",)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(is_reminded=False) | models.Q(reminders_agreed_on__isnull=False),
                name="jobs_customer_is_reminded_since_a_day",
            ),
        )

    def __str__(self) -> str:
        return self.name


class Site(models.Model):
    """A place with an address; its time zone decides which calendar day a thing happened on."""

    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="sites")
    name = models.CharField(max_length=160)
    street = models.CharField(max_length=160)
    city = models.CharField(max_length=80)
    region = models.CharField("state or region", max_length=80, blank=True)
    postal_code = models.CharField(max_length=20, blank=True)
    country = models.CharField(max_length=2, default="US", help_text="Two-letter country code (ISO 3166-1).")
    time_zone = models.CharField(max_length=64, default="America/Chicago", validators=[validate_time_zone])
    jurisdiction = models.CharField(
        max_length=20, choices=Jurisdiction.choices, default=Jurisdiction.US_FEDERAL
    )
    leak_rate_method = models.CharField(
        "leak rate method of the facility",
        max_length=20,
        choices=LeakRateMethod.choices,
        default=LeakRateMethod.ANNUALIZING,
        help_text="One for all appliances at the facility (40 CFR 82.152, 84.106(b)), before any change on record.",
    )
    altitude_m = models.PositiveSmallIntegerField("altitude (m)", null=True, blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ("customer__name", "name")
        constraints = (
            models.UniqueConstraint(fields=("customer", "name"), name="jobs_site_name_once_a_customer"),
        )

    def __str__(self) -> str:
        return f"{self.name}, {self.city}"

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        """The site's time zone."""
        return zoneinfo.ZoneInfo(self.time_zone)

    @property
    def address_lines(self) -> list[str]:
        """The address as it goes on an envelope."""
        place = " ".join(part for part in (self.city, self.region, self.postal_code) if part)
        return [line for line in (self.street, place, self.country) if line]
