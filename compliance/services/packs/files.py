"""The files of a record pack, each with the function that writes it; what seals them is in building.py."""

import json
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
from compliance.selectors.filing_record import whole_filings
from compliance.selectors.method_changes import CHANGE_KIND, CORRECTION_KIND
from compliance.selectors.pack_contents import PackScope, pack_method_changes, pack_method_corrections
from compliance.selectors.service_record import service_record
from compliance.selectors.wording import rulebook_in_words
from compliance.services.packs.index import index_csv, index_html
from compliance.services.packs.paths import appliance_path, document_path, log_path, record_path
from compliance.services.records.printing import (
    appliance_record_pdf,
    facility_record_pdf,
    filing_record_pdf,
    service_record_pdf,
)
from jobs.models import Appliance, FilingAttachment, WeighLog
from jobs.services.chain import canonical_forms, chain_name

VERIFY_SCRIPT = Path(__file__).with_name("verify_pack.py")


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
        yield PackFile(record_path(RECORD_KIND, pk, "pdf"), partial(_event_pdf, scope, pk))
    for pk in scope.filing_ids:
        yield PackFile(record_path(FILING_KIND, pk, "pdf"), partial(_filing_pdf, scope, pk))
    for change in pack_method_changes(scope):
        write = partial(facility_record_pdf, change, known_at=scope.known_at)
        yield PackFile(record_path(CHANGE_KIND, change.pk, "pdf"), write)
    for correction in pack_method_corrections(scope):
        write = partial(facility_record_pdf, correction, known_at=scope.known_at)
        yield PackFile(record_path(CORRECTION_KIND, correction.pk, "pdf"), write)
    for log in scope.logs:
        yield PackFile(log_path(log), partial(_log_bytes, log))
    for document in scope.documents:
        yield PackFile(document_path(document), partial(_document_bytes, document))
    for appliance in scope.appliances:
        yield PackFile(appliance_path(appliance), partial(_appliance_pdf, scope, appliance))
    yield PackFile("chains.json", partial(_chains_json, scope))
    yield PackFile("index.csv", partial(index_csv, scope))
    yield PackFile("index.html", partial(index_html, scope, _context(scope)))
    yield PackFile("README.txt", partial(_readme, scope))
    yield PackFile(VERIFY_SCRIPT.name, VERIFY_SCRIPT.read_bytes)


def _json(document: Any) -> bytes:
    return f"{json.dumps(document, sort_keys=True, ensure_ascii=False, indent=1)}\n".encode()


def _record_json(kind: str, pk: int) -> bytes:
    return _json(canonical_forms(kind, [pk])[pk])


def _event_pdf(scope: PackScope, pk: int) -> bytes:
    return service_record_pdf(service_record(whole_events().get(pk=pk), known_at=scope.known_at))


def _filing_pdf(scope: PackScope, pk: int) -> bytes:
    return filing_record_pdf(whole_filings().get(pk=pk), known_at=scope.known_at)


def _log_bytes(log: WeighLog) -> bytes:
    return log.file.content


def _document_bytes(document: FilingAttachment) -> bytes:
    return document.file.content


def _appliance_pdf(scope: PackScope, appliance: Appliance) -> bytes:
    record = appliance_record(appliance, as_of=scope.happened_to, known_at=scope.known_at)
    return appliance_record_pdf(record, printed_by=scope.asked_by, printed_at=scope.asked_at)


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


def _context(scope: PackScope) -> dict[str, Any]:
    return {
        "scope": scope,
        "firm_name": settings.FIRM_NAME,
        "script": VERIFY_SCRIPT.name,
        "rulebook": rulebook_in_words(),
    }


def _readme(scope: PackScope) -> bytes:
    return render_to_string("compliance/print/pack_readme.txt", _context(scope)).encode()
