"""Walks the hash chains and names, in each, the first record that doesn't match what was filed."""

import hashlib
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Any

from django.db.models import CharField, Exists, F, OuterRef, Q, QuerySet, Value
from django.db.models.functions import Cast, Concat

from jobs.models import (
    CaseFiling,
    ChainLink,
    CylinderPressureCheck,
    DocumentFile,
    FullChargeDetermination,
    HolderKind,
    LeakRateMethodChange,
    LeakRateMethodCorrection,
    ServiceEvent,
    StockMovement,
    Transfer,
    WeighLog,
    WeighLogFile,
)
from jobs.services.chain import CYLINDER_RECORDS, RECORD_KINDS, canonical_forms, link_sha256

# So many links are recomputed at a time: enough to spare queries, few enough for a small machine's memory.
BATCH = 500


@dataclass(frozen=True)
class BrokenRecord:
    """The first record of a chain that doesn't match, and what is wrong with it."""

    chain: str
    sequence: int | None
    record_kind: str
    record_id: int
    because: str

    def __str__(self) -> str:
        place = f" no. {self.sequence}" if self.sequence else ""
        kind = self.record_kind.replace("_", " ")
        return f"{self.chain}{place}: {kind} {self.record_id}: {self.because}"


def records_verify() -> Iterator[BrokenRecord]:
    """Recompute every chain from the rows as they are now.

    What is taken off the end of a chain together with its links leaves no trace in it: the seals tell of that, see
    ``jobs/services/seal_verification.py``.

    Returns:
        For each broken chain its first broken record, then records that stand in no chain they belong to, then
        logs and documents whose kept bytes aren't those that came.
    """
    yield from _broken_links()
    yield from _unlinked_events()
    yield from _unlinked_movements()
    yield from _unlinked_cylinder_records()
    yield from _unlinked_transfers()
    yield from _unlinked_logs()
    yield from _changed_files()
    yield from _unlinked_checks()
    yield from _unlinked_facility_records()


def _broken_links() -> Iterator[BrokenRecord]:
    links = ChainLink.objects.order_by("chain", "sequence").iterator(chunk_size=BATCH)
    previous: ChainLink | None = None
    broken = ""
    while batch := list(islice(links, BATCH)):
        forms = {
            kind: canonical_forms(kind, [link.record_id for link in batch if link.record_kind == kind])
            for kind in RECORD_KINDS
        }
        for link in batch:
            if previous and previous.chain != link.chain:
                previous = None
            because = _what_is_wrong(link, previous, forms.get(link.record_kind, {}))
            if because and link.chain != broken:
                broken = link.chain
                yield BrokenRecord(link.chain, link.sequence, link.record_kind, link.record_id, because)
            previous = link


def _what_is_wrong(link: ChainLink, previous: ChainLink | None, forms: dict[int, dict]) -> str:
    if link.sequence != (previous.sequence + 1 if previous else 1):
        return "the record before it is missing"
    if link.previous_sha256 != (previous.sha256 if previous else ""):
        return "it doesn't follow on the record before it"
    record = forms.get(link.record_id)
    if record is None:
        return "the record is missing"
    if link_sha256(link, record) != link.sha256:
        return "it is not as it was filed"
    return ""


def _unlinked_events() -> Iterator[BrokenRecord]:
    for pk, chain in _without_link(
        ServiceEvent.objects.all(), "service_event", "appliance", "appliance_id", "pk"
    ):
        yield _unlinked(chain, "service_event", pk)


def _unlinked_movements() -> Iterator[BrokenRecord]:
    for subject in ("appliance", "cylinder"):
        movements = StockMovement.objects.filter(**{f"{subject}__isnull": False})
        for pk, chain in _without_link(movements, "stock_movement", subject, f"{subject}_id", "pk"):
            yield _unlinked(chain, "stock_movement", pk)


def _unlinked_cylinder_records() -> Iterator[BrokenRecord]:
    for kind, model in CYLINDER_RECORDS.items():
        for pk, chain in _without_link(model.objects.all(), kind, "cylinder", "cylinder_id", "pk"):
            yield _unlinked(chain, kind, pk)


def _unlinked_checks() -> Iterator[BrokenRecord]:
    for kind, model, subject in (
        ("full_charge", FullChargeDetermination, "appliance"),
        ("pressure_check", CylinderPressureCheck, "cylinder"),
        ("case_filing", CaseFiling, "appliance"),
    ):
        for pk, chain in _without_link(model.objects.all(), kind, subject, f"{subject}_id", "pk"):
            yield _unlinked(chain, kind, pk)


def _unlinked_facility_records() -> Iterator[BrokenRecord]:
    """Records about a facility's leak rate method that the chain of one of its appliances doesn't hold."""
    for kind, model in (
        ("method_change", LeakRateMethodChange),
        ("method_correction", LeakRateMethodCorrection),
    ):
        linked = set(ChainLink.objects.filter(record_kind=kind).values_list("chain", "record_id"))
        for record in model.objects.order_by("pk").only("facility"):
            for appliance_id in record.appliance_ids:
                chain = f"appliance:{appliance_id}"
                if (chain, record.pk) not in linked:
                    yield _unlinked(chain, kind, record.pk)


def _unlinked_transfers() -> Iterator[BrokenRecord]:
    """Records that moved something out of or into a cylinder whose chain doesn't hold them."""
    found: set[tuple[str, str, int]] = set()
    for kind, record in (("service_event", "event_id"), ("stock_movement", "stock_movement_id")):
        for side in ("from_holder", "to_holder"):
            moved = Transfer.objects.filter(
                Q(**{f"{side}__kind": HolderKind.CYLINDER, f"{record}__isnull": False})
            )
            found |= {
                (chain, kind, pk)
                for pk, chain in _without_link(moved, kind, "cylinder", f"{side}__cylinder_id", record)
            }
    for chain, kind, pk in sorted(found):
        yield _unlinked(chain, kind, pk)


def _unlinked_logs() -> Iterator[BrokenRecord]:
    """Logs that were added later: they stand in their appliance's chain by themselves."""
    added = WeighLog.objects.filter(is_added_later=True)
    for pk, chain in _without_link(added, "weigh_log", "appliance", "transfer__event__appliance_id", "pk"):
        yield _unlinked(chain, "weigh_log", pk)


def _changed_files() -> Iterator[BrokenRecord]:
    """Logs and documents whose file isn't the one that their hash tells of; files are large, so one at a time."""
    for file in WeighLogFile.objects.order_by("pk").iterator(chunk_size=1):
        if _sha256_of(file) != file.sha256:
            for log in file.weigh_logs.select_related("transfer__event").order_by("pk"):
                chain = f"appliance:{log.transfer.event.appliance_id}" if log.transfer.event else ""
                because = "its file doesn't match the SHA-256 it was filed with"
                yield BrokenRecord(chain, None, "weigh_log", log.pk, because)
    for document in DocumentFile.objects.order_by("pk").iterator(chunk_size=1):
        if _sha256_of(document) != document.sha256:
            for attachment in document.attachments.select_related("filing").order_by("pk"):
                chain = f"appliance:{attachment.filing.appliance_id}"
                because = f"its document {attachment.name} doesn't match the SHA-256 it was filed with"
                yield BrokenRecord(chain, None, "case_filing", attachment.filing_id, because)


def _sha256_of(file: WeighLogFile | DocumentFile) -> str:
    try:
        return hashlib.sha256(file.content).hexdigest()
    except zlib.error:
        return ""


def _without_link(
    rows: QuerySet[Any], kind: str, subject: str, subject_id: str, record_id: str
) -> Iterator[tuple[int, str]]:
    """The (record id, chain) of rows whose record has no link in the chain of its subject."""
    chain = Concat(Value(f"{subject}:"), Cast(F(subject_id), CharField()), output_field=CharField())
    link = ChainLink.objects.filter(
        chain=OuterRef("own_chain"), record_kind=kind, record_id=OuterRef("own_record")
    )
    rows = rows.order_by().annotate(own_chain=chain, own_record=F(record_id)).filter(~Exists(link))
    return iter(rows.values_list("own_record", "own_chain").distinct())


def _unlinked(chain: str, kind: str, pk: int) -> BrokenRecord:
    return BrokenRecord(chain, None, kind, pk, "it stands in no link of this chain")
