"""Hash chains: one for each appliance and one for each cylinder, so that a changed record shows."""

import hashlib
import json
from collections.abc import Iterable
from typing import Any

from django.db.models import F, OuterRef, Subquery

from jobs.models import (
    Appliance,
    CaseFiling,
    ChainLink,
    Contamination,
    Cylinder,
    CylinderMove,
    CylinderPressureCheck,
    CylinderRecord,
    CylinderWeighing,
    FullChargeDetermination,
    HeelRemoval,
    LeakRateMethodChange,
    LeakRateMethodCorrection,
    RequalificationPeriod,
    RequalificationTest,
    ServiceEvent,
    ShipmentReceipt,
    StockMovement,
    WeighLog,
    Withdrawal,
)
from jobs.models.chain import APPLIANCE_CHAIN, CYLINDER_CHAIN

FiledRecord = (
    ServiceEvent
    | StockMovement
    | CylinderRecord
    | WeighLog
    | FullChargeDetermination
    | CylinderPressureCheck
    | CaseFiling
    | LeakRateMethodChange
    | LeakRateMethodCorrection
)

CYLINDER_RECORDS: dict[str, type[CylinderRecord]] = {
    model.RECORD_KIND: model
    for model in (
        *(CylinderMove, CylinderWeighing, ShipmentReceipt, Contamination, HeelRemoval),
        *(RequalificationPeriod, RequalificationTest, Withdrawal),
    )
}
RECORD_KINDS: dict[str, type[FiledRecord]] = {
    "service_event": ServiceEvent,
    "stock_movement": StockMovement,
    **CYLINDER_RECORDS,
    # A log that was added to a transfer later; those filed with their event are covered by its hash.
    "weigh_log": WeighLog,
    "full_charge": FullChargeDetermination,
    "pressure_check": CylinderPressureCheck,
    "case_filing": CaseFiling,
    # These stand in the chain of each appliance of their site.
    "method_change": LeakRateMethodChange,
    "method_correction": LeakRateMethodCorrection,
}

# What a record's canonical form reads, fetched for many records at once.
CANONICAL_ROWS = {
    "service_event": (
        "transfers__from_holder",
        "transfers__to_holder",
        "transfers__weigh_log",
        "leak_inspection",
        "leak_findings__leak",
        "repairs",
        "verification_tests",
        "statements",
    ),
    "stock_movement": (
        "transfers__from_holder",
        "transfers__to_holder",
        "transfers__weigh_log",
        "buyer_proof",
    ),
    "case_filing": ("attachments",),
}


def chain_name(subject: Appliance | Cylinder) -> str:
    """The name of the chain of an appliance or a cylinder."""
    kind = APPLIANCE_CHAIN if isinstance(subject, Appliance) else CYLINDER_CHAIN
    return f"{kind}:{subject.pk}"


def canonical_json(document: Any) -> bytes:
    """The one byte string that stands for a document: sorted keys, UTF-8, no spaces."""
    return json.dumps(document, sort_keys=True, ensure_ascii=False, separators=(",", ":")).encode()


def link_sha256(link: ChainLink, record: dict[str, Any]) -> str:
    """The SHA-256 of a link: of its place, its predecessor's hash and its record's canonical form."""
    document = {
        "chain": link.chain,
        "sequence": link.sequence,
        "record_kind": link.record_kind,
        "record_id": link.record_id,
        "previous_sha256": link.previous_sha256,
        "record": record,
    }
    return hashlib.sha256(canonical_json(document)).hexdigest()


def chain_extend(record: FiledRecord, subjects: Iterable[Appliance | Cylinder]) -> None:
    """Put a filed record at the end of its subjects' chains; the caller holds locks on the subjects."""
    kind = record_kind(record)
    canonical = canonical_forms(kind, [record.pk])[record.pk]
    names = {chain_name(subject) for subject in subjects}
    heads = _heads(names)
    links = []
    for name in sorted(names):
        head = heads.get(name)
        link = ChainLink(
            chain=name,
            sequence=head.sequence + 1 if head else 1,
            record_kind=kind,
            record_id=record.pk,
            previous_sha256=head.sha256 if head else "",
        )
        link.sha256 = link_sha256(link, canonical)
        links.append(link)
    ChainLink.objects.bulk_create(links)


def record_kind(record: FiledRecord) -> str:
    """The kind of a filed record as links name it."""
    return next(kind for kind, model in RECORD_KINDS.items() if isinstance(record, model))


def canonical_forms(kind: str, ids: Iterable[int]) -> dict[int, dict[str, Any]]:
    """The canonical forms of the filed records of one kind, as the database holds them now."""
    rows = RECORD_KINDS[kind].objects.filter(pk__in=set(ids)).prefetch_related(*CANONICAL_ROWS.get(kind, ()))
    return {row.pk: row.canonical() for row in rows}


def _heads(names: set[str]) -> dict[str, ChainLink]:
    newest = ChainLink.objects.filter(chain=OuterRef("chain")).order_by("-sequence").values("sequence")[:1]
    links = ChainLink.objects.filter(chain__in=names).alias(newest=Subquery(newest))
    return {link.chain: link for link in links.filter(sequence=F("newest"))}
