"""The files of a record pack, each with the function that writes it; what seals them is in building.py."""

import csv
import io
import json
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from django.conf import settings
from django.template.loader import render_to_string

from compliance.selectors.appliance_record import appliance_record
from compliance.selectors.event_record import RECORD_KIND, whole_events
from compliance.selectors.filing_record import RECORD_KIND as FILING_KIND
from compliance.selectors.method_changes import RECORD_KIND as METHOD_KIND
from compliance.selectors.pack_contents import (
    PackScope,
    pack_events,
    pack_filings,
    pack_method_changes,
)
from compliance.selectors.service_record import service_record
from compliance.services.records.printing import appliance_record_pdf, service_record_pdf
from jobs.models import (
    Appliance,
    CaseFiling,
    FilingAttachment,
    LeakRateMethodChange,
    ServiceEvent,
    WeighLog,
)
from jobs.services.chain import canonical_forms, chain_name

VERIFY_SCRIPT = Path(__file__).with_name("verify_pack.py")
# Behind a number that tells them apart, a name that people know; never one that leads out of the folder.
UNSAFE = re.compile(r"[^A-Za-z0-9.]+")


@dataclass(frozen=True)
class PackFile:
    """One file of a pack."""

    path: str
    write: Callable[[], bytes]


def pack_files(scope: PackScope) -> Iterator[PackFile]:
    """The files of a pack, in the order they are made."""
    for kind, pk in scope.records:
        yield PackFile(record_path(kind, pk), partial(_record_json, kind, pk))
    for pk in scope.event_ids:
        yield PackFile(f"records/{_event_name(pk)}.pdf", partial(_event_pdf, pk))
    for log in scope.logs:
        yield PackFile(_log_path(log), partial(_log_bytes, log))
    for document in scope.documents:
        yield PackFile(_document_path(document), partial(_document_bytes, document))
    for appliance in scope.appliances:
        yield PackFile(_appliance_path(appliance), partial(_appliance_pdf, scope, appliance))
    yield PackFile("chains.json", partial(_chains_json, scope))
    yield PackFile("index.csv", partial(_index_csv, scope))
    yield PackFile("index.html", partial(_index_html, scope))
    yield PackFile("README.txt", partial(_readme, scope))
    yield PackFile(VERIFY_SCRIPT.name, VERIFY_SCRIPT.read_bytes)


def record_path(kind: str, pk: int) -> str:
    """Where a record's canonical form stands in the pack."""
    if kind == FILING_KIND:
        return f"records/{CaseFiling(pk=pk).reference}.json"
    if kind == METHOD_KIND:
        return f"records/{LeakRateMethodChange(pk=pk).reference}.json"
    name = _event_name(pk) if kind == RECORD_KIND else f"{kind.replace('_', '-')}-{pk:06d}"
    return f"records/{name}.json"


def _event_name(pk: int) -> str:
    return ServiceEvent(pk=pk).reference


def _log_path(log: WeighLog) -> str:
    return f"weigh-logs/{log.pk:06d}-{UNSAFE.sub('-', log.name).strip('.-') or 'log'}"


def _document_path(document: FilingAttachment) -> str:
    name = UNSAFE.sub("-", document.name).strip(".-") or "document"
    return f"documents/{document.filing.reference}-{document.position}-{name}"


def _appliance_path(appliance: Appliance) -> str:
    return f"appliances/{appliance.pk:06d}-{UNSAFE.sub('-', appliance.name).strip('.-') or 'appliance'}.pdf"


def _json(document: Any) -> bytes:
    return f"{json.dumps(document, sort_keys=True, ensure_ascii=False, indent=1)}\n".encode()


def _record_json(kind: str, pk: int) -> bytes:
    return _json(canonical_forms(kind, [pk])[pk])


def _event_pdf(pk: int) -> bytes:
    return service_record_pdf(service_record(whole_events().get(pk=pk)))


def _log_bytes(log: WeighLog) -> bytes:
    return log.file.content


def _document_bytes(document: FilingAttachment) -> bytes:
    return document.file.content


def _appliance_pdf(scope: PackScope, appliance: Appliance) -> bytes:
    record = appliance_record(appliance, as_of=scope.happened_to, known_at=scope.known_at)
    return appliance_record_pdf(record)


def _chains_json(scope: PackScope) -> bytes:
    inside = set(scope.records)
    chains = [
        {
            "chain": chain_name(appliance),
            "appliance": f"{appliance}, {appliance.site}",
            "links": [
                {
                    "sequence": link.sequence,
                    "record_kind": link.record_kind,
                    "record_id": link.record_id,
                    "previous_sha256": link.previous_sha256,
                    "sha256": link.sha256,
                    "file": record_path(link.record_kind, link.record_id)
                    if (link.record_kind, link.record_id) in inside
                    else None,
                }
                for link in links
            ],
        }
        for appliance, links in scope.chains.items()
    ]
    return _json({"chains": chains})


def _standing(record: ServiceEvent | CaseFiling | LeakRateMethodChange) -> str:
    """How a record stands, in a few words."""
    newer = getattr(record, "superseded_by", None)
    if record.is_void:
        return f"voids {record.supersedes}"
    amends = f"amends {record.supersedes}" if record.supersedes else "as first filed"
    if newer is None:
        return amends
    return f"{amends}; {'voided' if newer.is_void else 'replaced'} by {newer}"


def _index_rows(scope: PackScope) -> Iterator[dict[str, Any]]:
    for event in pack_events(scope):
        yield {
            "appliance": event.appliance,
            "event": event,
            "by": event.technician or event.contractor_name,
            "standing": _standing(event),
            "json": record_path(RECORD_KIND, event.pk),
            "pdf": f"records/{event.reference}.pdf",
        }


def _filing_rows(scope: PackScope) -> Iterator[dict[str, Any]]:
    for filing in pack_filings(scope):
        yield {
            "appliance": filing.appliance,
            "filing": filing,
            "standing": _standing(filing),
            "json": record_path(FILING_KIND, filing.pk),
            "documents": [(row.name, _document_path(row)) for row in filing.attachments.all()],
        }


def _method_rows(scope: PackScope) -> Iterator[dict[str, Any]]:
    for change in pack_method_changes(scope):
        yield {
            "change": change,
            "standing": _standing(change),
            "json": record_path(METHOD_KIND, change.pk),
        }


def _index_csv(scope: PackScope) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(("Site", "Appliance", "Date", "Record", "By", "Standing", "PDF", "JSON"))
    for row in _index_rows(scope):
        event = row["event"]
        writer.writerow(
            (
                *(row["appliance"].site.name, row["appliance"].name, event.happened_on, event.reference),
                *(row["by"], row["standing"], row["pdf"], row["json"]),
            )
        )
    for row in _filing_rows(scope):
        filing = row["filing"]
        writer.writerow(
            (
                *(row["appliance"].site.name, row["appliance"].name, filing.happened_on, filing.reference),
                *(filing.filed_by, f"{filing.spec.name}: {row['standing']}", "", row["json"]),
            )
        )
    for row in _method_rows(scope):
        change = row["change"]
        writer.writerow(
            (
                *(change.site.name, "", change.happened_on, change.reference, change.filed_by),
                *(f"Leak rate method changed: {row['standing']}", "", row["json"]),
            )
        )
    # With its mark, spreadsheets read it as UTF-8.
    return text.getvalue().encode("utf-8-sig")


def _context(scope: PackScope) -> dict[str, Any]:
    return {"scope": scope, "firm_name": settings.FIRM_NAME, "script": VERIFY_SCRIPT.name}


def _index_html(scope: PackScope) -> bytes:
    context = {
        **_context(scope),
        "rows": list(_index_rows(scope)),
        "filings": list(_filing_rows(scope)),
        "method_changes": list(_method_rows(scope)),
        "appliances": [(row, _appliance_path(row)) for row in scope.appliances],
        "logs": [(log, _log_path(log)) for log in scope.logs],
    }
    return render_to_string("compliance/print/pack_index.html", context).encode()


def _readme(scope: PackScope) -> bytes:
    return render_to_string("compliance/print/pack_readme.txt", _context(scope)).encode()
