"""Service events: the filed record of one visit to one appliance."""

import uuid
from typing import Any

from django.conf import settings
from django.db import models

from jobs.models.appliances import Appliance
from jobs.models.filed import FiledModel
from jobs.models.instruments import Instrument, RecoveryMachine
from jobs.models.technicians import Certification, Technician


class WorkOrigin(models.TextChoices):
    """Whose work the record tells of."""

    OWN = "own", "Our own work"
    OTHER_CONTRACTOR = "other_contractor", "Another contractor's work"
    FORMER_RECORDS = "former_records", "History taken over from a former contractor"


class WorkKind(models.TextChoices):
    """What was done; several may apply to one visit."""

    SERVICE = "service", "Service or maintenance"
    LEAK_INSPECTION = "leak_inspection", "Leak inspection"
    LEAK_REPAIR = "leak_repair", "Leak repair"
    VERIFICATION = "verification", "Verification test"
    INSTALLATION = "installation", "Installation"
    RETROFIT = "retrofit", "Retrofit"
    SEASONAL = "seasonal", "Seasonal adjustment of charge"
    DISPOSAL = "disposal", "Disposal"


class VacuumUnit(models.TextChoices):
    """Units of a final vacuum reading."""

    MICRON = "micron", "micron (absolute)"
    MM_HG_ABS = "mmHg_abs", "mm Hg absolute"
    IN_HG_VAC = "inHg_vac", "in Hg vacuum"
    KPA_ABS = "kPa_abs", "kPa absolute"
    PSIG = "psig", "psig (above the air around it)"


class OpeningKind(models.TextChoices):
    """Why the circuit was opened; it decides what 40 CFR 82.156 asks for first. Values are the rulebook's."""

    MAJOR = "major", "Major repair, or evacuated to the atmosphere afterwards"
    NOT_MAJOR = "not_major", "Not a major repair, and not evacuated to the atmosphere afterwards"
    OIL_CHANGE = "oil_change", "Oil change, and not evacuated to the atmosphere afterwards"
    LEAKING = "leaking", "Leaks make the level unattainable, or would contaminate the refrigerant"
    DISPOSAL = "disposal", "Disposal of the appliance"


class OwnerDecision(models.TextChoices):
    """What the owner or operator said when told of an exceedance."""

    ACCEPTED = "accepted", "Accepted the repair"
    DECLINED = "declined", "Declined the repair"


_LETTERS = "SE"

# Fields that records filed before they existed don't have: left empty, the hash doesn't cover them.
ADDED_FIELDS = (
    "opening_kind",
    "opening_note",
    "is_compressor_running",
    "recovery_machine_id",
    "gauge_id",
)


def event_reference(pk: int) -> str:
    """The number by which people quote a service event."""
    return f"{_LETTERS}-{pk:06d}"


def event_id_of(reference: str) -> int | None:
    """The key of the service event that is quoted so; none where it can't be one's number."""
    number = reference.removeprefix(f"{_LETTERS}-")
    return int(number) if number.isdecimal() else None


class ServiceEvent(FiledModel):
    """One visit to one appliance, filed once; a correction is another event that supersedes it."""

    submission_id = models.UUIDField(
        unique=True, default=uuid.uuid4, help_text="Made by the form, so that sending twice files once."
    )
    content_sha256 = models.CharField(max_length=64, db_index=True)
    is_separate_visit = models.BooleanField(
        default=False,
        help_text="A second visit on the same day with the same contents; not the same form sent twice.",
    )
    appliance = models.ForeignKey(Appliance, on_delete=models.PROTECT, related_name="service_events")
    happened_on = models.DateField("date at the site")
    filed_at = models.DateTimeField()
    filed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    origin = models.CharField(max_length=20, choices=WorkOrigin.choices, default=WorkOrigin.OWN)
    contractor_name = models.CharField(max_length=160, blank=True)
    technician = models.ForeignKey(
        Technician, on_delete=models.PROTECT, null=True, blank=True, related_name="service_events"
    )
    certification = models.ForeignKey(
        Certification, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    supervisor = models.ForeignKey(
        Technician, on_delete=models.PROTECT, null=True, blank=True, related_name="supervised_events"
    )
    work_kinds = models.JSONField(default=list)
    work_done = models.TextField(help_text="The parts worked on and what was done to each.")
    is_circuit_opened = models.BooleanField("circuit opened", default=False)
    opening_kind = models.CharField(
        "why the circuit was opened", max_length=12, choices=OpeningKind.choices, blank=True
    )
    opening_note = models.CharField("about the leaks", max_length=240, blank=True)
    is_compressor_running = models.BooleanField(
        "the compressor ran during the recovery", null=True, blank=True
    )
    recovery_machine = models.ForeignKey(
        RecoveryMachine, on_delete=models.PROTECT, null=True, blank=True, related_name="service_events"
    )
    gauge = models.ForeignKey(
        Instrument, on_delete=models.PROTECT, null=True, blank=True, related_name="service_events"
    )
    final_vacuum = models.DecimalField(max_digits=12, decimal_places=3, null=True, blank=True)
    final_vacuum_unit = models.CharField(max_length=10, choices=VacuumUnit.choices, blank=True)
    signature_name = models.CharField("signed by", max_length=120, blank=True)
    signature_svg_path = models.TextField("signature", blank=True)
    owner_told_on = models.DateField("owner told of the exceedance on", null=True, blank=True)
    owner_told_name = models.CharField("who was told", max_length=120, blank=True)
    owner_decision = models.CharField(max_length=10, choices=OwnerDecision.choices, blank=True)
    supersedes = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="superseded_by"
    )
    original = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="The first record of the line of amendments; its place among the day's visits is theirs.",
    )
    amendment_reason = models.TextField(blank=True)
    is_void = models.BooleanField(
        default=False, help_text="The amendment says that the visit never took place."
    )

    class Meta:
        ordering = ("happened_on", "pk")
        indexes = (models.Index(fields=("appliance", "happened_on"), name="jobs_serviceevent_history"),)
        permissions = (("amend_serviceevent", "Can amend or void a service event"),)

    def __str__(self) -> str:
        return self.reference

    @property
    def reference(self) -> str:
        """The number that people quote."""
        return event_reference(self.pk)

    def canonical(self) -> dict[str, Any]:
        """What the event's hash covers: every field, and every row filed with it.

        Reads the related rows by ``all()``, so that a prefetch serves many events.
        """
        fields = {
            field.attname: _plain(getattr(self, field.attname))
            for field in self._meta.concrete_fields
            if field.attname != "id"
        }
        for name in ADDED_FIELDS:
            if fields[name] in (None, ""):
                del fields[name]
        inspection = getattr(self, "leak_inspection", None)
        return {
            "record": "service_event",
            **fields,
            "transfers": [row.canonical() for row in sorted(self.transfers.all(), key=_position)],
            "leak_inspection": inspection.canonical() if inspection else None,
            "leak_findings": [row.canonical() for row in sorted(self.leak_findings.all(), key=_key)],
            "repairs": [row.canonical() for row in sorted(self.repairs.all(), key=_key)],
            "verification_tests": [
                row.canonical() for row in sorted(self.verification_tests.all(), key=_key)
            ],
            "statements": [row.canonical() for row in sorted(self.statements.all(), key=_key)],
        }


def _position(row: Any) -> int:
    return row.position


def _key(row: models.Model) -> int:
    return row.pk


def _plain(value: Any) -> Any:
    """Return ``value`` in JSON's own types; dates and instants as ISO 8601, decimals as plain text."""
    if value is None or isinstance(value, bool | int | str | list):
        return value
    if hasattr(value, "isoformat"):
        return value.isoformat()
    return f"{value:f}" if hasattr(value, "as_tuple") else str(value)
