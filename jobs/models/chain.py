"""Hash chains over filed records, one for each appliance and one for each cylinder, and the seals over them."""

from django.db import models

from jobs.models.filed import FiledModel

# A chain is named after what its records are of, and its id.
APPLIANCE_CHAIN, CYLINDER_CHAIN = "appliance", "cylinder"


class ChainLink(FiledModel):
    """One filed record's place in a chain.

    ``sha256`` covers the record's canonical JSON and ``previous_sha256``, so a changed,
    removed or inserted record breaks the chain from there on.
    """

    chain = models.CharField(max_length=40, help_text="appliance:ID or cylinder:ID")
    sequence = models.PositiveIntegerField()
    record_kind = models.CharField(
        max_length=20,
        help_text="As jobs/services/chain.py names it, such as service_event.",
    )
    record_id = models.BigIntegerField()
    previous_sha256 = models.CharField(max_length=64, blank=True)
    sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ("chain", "sequence")
        constraints = (
            models.UniqueConstraint(
                fields=("chain", "sequence"), name="jobs_chainlink_sequence_once_a_chain"
            ),
            models.UniqueConstraint(
                fields=("chain", "record_kind", "record_id"), name="jobs_chainlink_record_once_a_chain"
            ),
        )

    def __str__(self) -> str:
        return f"{self.chain} #{self.sequence}"


class ChainSeal(FiledModel):
    """What all chains ended with at one instant: a chain that is cut off at its end no longer reaches its seal.

    ``sha256`` covers the seal's own columns; with ``heads_sha256`` the heads that changed since the seal before, and
    with ``previous_sha256`` that seal, and so the heads of every chain.
    """

    number = models.PositiveIntegerField(unique=True, help_text="The first is 1.")
    sealed_at = models.DateTimeField()
    previous_sha256 = models.CharField(max_length=64, blank=True)
    chain_count = models.PositiveIntegerField()
    link_count = models.PositiveBigIntegerField(help_text="Of all chains together.")
    heads_sha256 = models.CharField(max_length=64)
    sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ("-number",)

    def __str__(self) -> str:
        return f"Seal {self.number} of {self.sealed_at:%Y-%m-%d %H:%M}"


class SealedHead(FiledModel):
    """The last link of one chain at the instant of a seal; kept where it isn't the one that was sealed before."""

    seal = models.ForeignKey(ChainSeal, on_delete=models.PROTECT, related_name="heads")
    chain = models.CharField(max_length=40, help_text="appliance:ID or cylinder:ID")
    sequence = models.PositiveIntegerField(help_text="How many links the chain had.")
    sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ("chain", "sequence")
        constraints = (models.UniqueConstraint(fields=("chain", "seal"), name="jobs_sealedhead_once_a_seal"),)

    def __str__(self) -> str:
        return f"{self.chain} #{self.sequence}"
