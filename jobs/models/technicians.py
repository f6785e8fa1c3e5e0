"""Technicians, apprentices and their certifications under 40 CFR 82.161."""

from django.conf import settings
from django.db import models
from simple_history.models import HistoricalRecords


class CertificationType(models.TextChoices):
    """The types of 40 CFR 82.161(b); values are those of the rulebook's certification table."""

    TYPE_I = "type_i", "Type I: small appliances"
    TYPE_II = "type_ii", "Type II: medium-, high- and very high-pressure appliances"
    TYPE_III = "type_iii", "Type III: low-pressure appliances"
    UNIVERSAL = "universal", "Universal"
    SECTION_609 = "section_609", "Section 609: motor vehicle air conditioning and MVAC-like"


class Technician(models.Model):
    """A person who handles refrigerant."""

    full_name = models.CharField(max_length=120)
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="technician",
        verbose_name="sign-in",
    )
    phone = models.CharField(max_length=40, blank=True)
    is_apprentice = models.BooleanField("apprentice", default=False)
    apprentice_registered_on = models.DateField(
        "apprenticeship registered on",
        null=True,
        blank=True,
        help_text="Date of first registration as an apprentice; the exemption ends two years later (40 CFR 82.161(a)).",
    )
    is_active = models.BooleanField("works for the firm", default=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ("full_name",)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(is_apprentice=False) | models.Q(apprentice_registered_on__isnull=False),
                name="jobs_technician_apprentice_is_registered",
                violation_error_message="An apprentice needs the date of registration.",
            ),
        )

    def __str__(self) -> str:
        return self.full_name


class Certification(models.Model):
    """A certificate of one type that a technician holds; it has no expiry (40 CFR 82.161)."""

    technician = models.ForeignKey(Technician, on_delete=models.PROTECT, related_name="certifications")
    type = models.CharField(max_length=20, choices=CertificationType.choices)
    number = models.CharField("certificate number", max_length=60)
    issuer = models.CharField("issued by", max_length=160)
    issued_on = models.DateField()

    history = HistoricalRecords()

    class Meta:
        ordering = ("technician__full_name", "issued_on")
        constraints = (
            models.UniqueConstraint(
                fields=("issuer", "number"),
                name="jobs_certification_number_once_an_issuer",
                violation_error_message="This issuer's certificate number is already on record.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_type_display()} no. {self.number}"
