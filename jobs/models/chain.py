"""Hash chains over filed records: one for each appliance, one for each cylinder."""

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
        help_text="service_event, stock_movement, weigh_log, case_filing, method_change or a kind of cylinder record",
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
