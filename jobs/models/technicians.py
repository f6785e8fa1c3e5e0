"""Technicians, apprentices and their certifications: of 40 CFR 82.161, the European Union and Great Britain."""

from django.conf import settings
from django.db import models
from simple_history.models import HistoricalRecords


class CertificationType(models.TextChoices):
    """The types of 40 CFR 82.161(b), then those of other countries; values are those of the rulebook."""

    TYPE_I = "type_i", "Type I: small appliances"
    TYPE_II = "type_ii", "Type II: medium-, high- and very high-pressure appliances"
    TYPE_III = "type_iii", "Type III: low-pressure appliances"
    UNIVERSAL = "universal", "Universal"
    SECTION_609 = "section_609", "Section 609: motor vehicle air conditioning and MVAC-like"
    EU_A1 = "eu_a1", "EU A1: fluorinated gases and hydrocarbons"
    EU_A2 = "eu_a2", "EU A2: as A1, below 3 kg, or 6 kg if hermetically sealed"
    EU_B = "eu_b", "EU B: carbon dioxide"
    EU_C = "eu_c", "EU C: ammonia"
    EU_D = "eu_d", "EU D: recovery below 3 kg, or 6 kg if hermetically sealed"
    EU_E = "eu_e", "EU E: leak checks without breaking into the circuit"
    EU_CATEGORY_I = "eu_category_i", "EU category I, under Regulation 517/2014"
    EU_CATEGORY_II = "eu_category_ii", "EU category II, under Regulation 517/2014"
    EU_CATEGORY_III = "eu_category_iii", "EU category III, under Regulation 517/2014"
    EU_CATEGORY_IV = "eu_category_iv", "EU category IV, under Regulation 517/2014"
    GB_CATEGORY_I = "gb_category_i", "GB category I"
    GB_CATEGORY_II = "gb_category_ii", "GB category II"
    GB_CATEGORY_III = "gb_category_iii", "GB category III"
    GB_CATEGORY_IV = "gb_category_iv", "GB category IV"


# The types of 40 CFR 82.161 and section 609, which don't expire.
US_CERTIFICATION_TYPES = (
    *(CertificationType.TYPE_I, CertificationType.TYPE_II, CertificationType.TYPE_III),
    *(CertificationType.UNIVERSAL, CertificationType.SECTION_609),
)


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
    """A certificate of one type that a technician holds; one of section 608 has no last day (40 CFR 82.161)."""

    technician = models.ForeignKey(Technician, on_delete=models.PROTECT, related_name="certifications")
    type = models.CharField(max_length=20, choices=CertificationType.choices)
    number = models.CharField("certificate number", max_length=60)
    issuer = models.CharField("issued by", max_length=160)
    issued_on = models.DateField()
    expires_on = models.DateField(
        "last day printed on it",
        null=True,
        blank=True,
        help_text="Empty where it prints none. One of section 608 doesn't expire (40 CFR 82.161).",
    )
    refreshed_on = models.DateField(
        "last refresher on",
        null=True,
        blank=True,
        help_text="The last refresher training or evaluation (Regulation (EU) 2024/573 Art. 10(9)).",
    )
    ended_on = models.DateField(
        "no longer counts from", null=True, blank=True, help_text="Revoked, given up, or replaced by another."
    )
    ended_because = models.CharField("why it no longer counts", max_length=240, blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ("technician__full_name", "issued_on")
        constraints = (
            models.UniqueConstraint(
                fields=("issuer", "number"),
                name="jobs_certification_number_once_an_issuer",
                violation_error_message="This issuer's certificate number is already on record.",
            ),
            models.CheckConstraint(
                condition=models.Q(ended_on__isnull=True) | ~models.Q(ended_because=""),
                name="jobs_certification_ended_says_why",
                violation_error_message="Expected why it no longer counts.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_type_display()} no. {self.number}"
