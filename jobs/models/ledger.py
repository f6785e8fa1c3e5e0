"""The mass ledger: refrigerant moves from one holder to another and never appears or vanishes."""

from typing import Any

from django.db import models

from jobs.models.filed import FiledModel


class MassUnit(models.TextChoices):
    """Units that a person may type."""

    LB = "lb", "lb"
    OZ = "oz", "oz"
    LB_OZ = "lb+oz", "lb + oz"
    KG = "kg", "kg"
    G = "g", "g"


def mass_as_typed(value: str, unit: str) -> str:
    """A mass in the words it was typed in: ``3+4.5`` of ``lb+oz`` is 3 lb 4.5 oz."""
    if unit != MassUnit.LB_OZ:
        return f"{value} {unit}"
    pounds, _, ounces = value.partition("+")
    return f"{pounds.strip()} lb {ounces.strip() or '0'} oz"


class HolderKind(models.TextChoices):
    """Who or what may hold refrigerant in the books."""

    APPLIANCE = "appliance", "Appliance"
    CYLINDER = "cylinder", "Cylinder"
    SUPPLIER = "supplier", "Supplier"
    RECLAIMER = "reclaimer", "Reclaimer"
    DESTRUCTION_FACILITY = "destruction_facility", "Destruction facility"
    CUSTOMER = "customer", "Customer"
    BUYER = "buyer", "Buyer"
    OTHER_CONTRACTOR = "other_contractor", "Other contractor"
    OPENING_BALANCE = "opening_balance", "Opening balance"
    STOCK_DIFFERENCE = "stock_difference", "Stock difference"
    ATMOSPHERE = "atmosphere", "Atmosphere"


class Holder(models.Model):
    """An account of the ledger."""

    kind = models.CharField(max_length=20, choices=HolderKind.choices)
    name = models.CharField(max_length=160, blank=True)
    appliance = models.OneToOneField(
        "jobs.Appliance", on_delete=models.PROTECT, null=True, blank=True, related_name="holder"
    )
    cylinder = models.OneToOneField(
        "jobs.Cylinder", on_delete=models.PROTECT, null=True, blank=True, related_name="holder"
    )

    class Meta:
        ordering = ("kind", "name")
        constraints = (
            models.UniqueConstraint(
                fields=("kind", "name"),
                condition=models.Q(appliance__isnull=True, cylinder__isnull=True),
                name="jobs_holder_name_once_a_kind",
            ),
            models.CheckConstraint(
                condition=(
                    models.Q(kind="appliance", appliance__isnull=False, cylinder__isnull=True)
                    | models.Q(kind="cylinder", appliance__isnull=True, cylinder__isnull=False)
                    | (
                        ~models.Q(kind__in=("appliance", "cylinder"))
                        & models.Q(appliance__isnull=True, cylinder__isnull=True)
                    )
                ),
                name="jobs_holder_points_at_its_kind",
            ),
        )

    def __str__(self) -> str:
        if self.kind == HolderKind.APPLIANCE:
            return str(self.appliance)
        if self.kind == HolderKind.CYLINDER:
            return f"cylinder {self.cylinder}"
        return self.name or self.get_kind_display()

    @property
    def account(self) -> str:
        """The account as hashes and exports name it, such as ``cylinder:12`` or ``supplier:Harbor Gas``."""
        return f"{self.kind}:{self.appliance_id or self.cylinder_id or self.name}"


class TransferReason(models.TextChoices):
    """Why refrigerant went into or out of an appliance; the rulebook's own values."""

    SERVICE = "service", "Service"
    INSTALLATION = "installation", "Installation of a new appliance"
    RETROFIT = "retrofit", "Retrofit"
    SEASONAL_VARIANCE = "seasonal_variance", "Seasonal variance"
    DISPOSAL = "disposal", "Disposal of the appliance"


class Transfer(FiledModel):
    """A mass of one refrigerant moved from one holder to another; written once."""

    event = models.ForeignKey(
        "jobs.ServiceEvent", on_delete=models.PROTECT, null=True, blank=True, related_name="transfers"
    )
    stock_movement = models.ForeignKey(
        "jobs.StockMovement", on_delete=models.PROTECT, null=True, blank=True, related_name="transfers"
    )
    position = models.PositiveSmallIntegerField(default=0)
    refrigerant = models.CharField(max_length=20)
    from_holder = models.ForeignKey(Holder, on_delete=models.PROTECT, related_name="transfers_out")
    to_holder = models.ForeignKey(Holder, on_delete=models.PROTECT, related_name="transfers_in")
    mass_mg = models.BigIntegerField()
    entered_value = models.CharField(max_length=40)
    entered_unit = models.CharField(max_length=10, choices=MassUnit.choices)
    happened_on = models.DateField()
    reason = models.CharField(max_length=20, choices=TransferReason.choices, default=TransferReason.SERVICE)
    leak = models.ForeignKey(
        "jobs.Leak", on_delete=models.PROTECT, null=True, blank=True, related_name="additions"
    )
    scale = models.ForeignKey(
        "jobs.Instrument", on_delete=models.PROTECT, null=True, blank=True, related_name="transfers"
    )
    is_recycled = models.BooleanField(
        "recycled after it was recovered",
        default=False,
        help_text="Said where the law asks for it of recovered refrigerant that goes into an appliance.",
    )
    reverses = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="reversed_by"
    )

    class Meta:
        ordering = ("happened_on", "pk")
        indexes = (
            models.Index(fields=("from_holder", "refrigerant"), name="jobs_transfer_out"),
            models.Index(fields=("to_holder", "refrigerant"), name="jobs_transfer_in"),
        )
        constraints = (
            models.CheckConstraint(condition=models.Q(mass_mg__gt=0), name="jobs_transfer_mass_above_zero"),
            models.CheckConstraint(
                condition=~models.Q(from_holder=models.F("to_holder")), name="jobs_transfer_moves"
            ),
            models.CheckConstraint(
                condition=(
                    models.Q(event__isnull=False, stock_movement__isnull=True)
                    | models.Q(event__isnull=True, stock_movement__isnull=False)
                ),
                name="jobs_transfer_belongs_to_one_record",
            ),
        )

    def __str__(self) -> str:
        return f"{self.as_typed} {self.refrigerant}: {self.from_holder} to {self.to_holder}"

    @property
    def as_typed(self) -> str:
        """The mass in the words it was typed in."""
        return mass_as_typed(self.entered_value, self.entered_unit)

    def canonical(self) -> dict[str, Any]:
        """What the transfer's hash covers; scale, log and recycling only where there are, as records had none at first.

        A log that was added later stands in the chains by itself.
        """
        scale = {} if self.scale_id is None else {"scale": self.scale_id}
        recycled = {"is_recycled": True} if self.is_recycled else {}
        log = getattr(self, "weigh_log", None)
        filed_with = {"weigh_log": log.canonical()} if log and not log.is_added_later else {}
        return {
            **scale,
            **recycled,
            **filed_with,
            "position": self.position,
            "refrigerant": self.refrigerant,
            "from": self.from_holder.account,
            "to": self.to_holder.account,
            "mass_mg": self.mass_mg,
            "entered": [self.entered_value, self.entered_unit],
            "happened_on": self.happened_on.isoformat(),
            "reason": self.reason,
            "leak": self.leak_id,
            "reverses": self.reverses_id,
        }
