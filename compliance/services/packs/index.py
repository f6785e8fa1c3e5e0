"""The index of a record pack: every record with how it stands, for people and for spreadsheets."""

import csv
import io
from collections.abc import Iterator
from typing import Any

from django.template.loader import render_to_string

from compliance.selectors.event_record import RECORD_KIND
from compliance.selectors.filing_record import RECORD_KIND as FILING_KIND
from compliance.selectors.method_changes import CHANGE_KIND, CORRECTION_KIND
from compliance.selectors.pack_contents import (
    FULL_CHARGE_KIND,
    MOVEMENT_KIND,
    PackScope,
    pack_determinations,
    pack_events,
    pack_filings,
    pack_method_changes,
    pack_method_corrections,
    pack_movements,
)
from compliance.services.packs.paths import appliance_path, document_path, log_path, record_path
from jobs.models import LeakRateMethodChange, LeakRateMethodCorrection
from jobs.selectors.amendments import AnyRecord, newer_record

Line = dict[str, Any]
COLUMNS = ("on", "record", "by", "standing", "pdf", "json")
HEADER = ("Site", "Appliance", "Date", "Record", "By", "Standing", "PDF", "JSON")


def index_csv(scope: PackScope) -> bytes:
    """The index as CSV; with its mark, spreadsheets read it as UTF-8."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(HEADER)
    for line in _lines(scope):
        writer.writerow((*_place(line), *(line[name] for name in COLUMNS)))
    return text.getvalue().encode("utf-8-sig")


def index_html(scope: PackScope, context: dict[str, Any]) -> bytes:
    """The index as a page."""
    found = {
        "rows": list(_events(scope)),
        "filings": list(_filings(scope)),
        "charges": list(_charges(scope)),
        "method_changes": list(_method_changes(scope)),
        "method_corrections": list(_method_corrections(scope)),
        "appliances": [(row, appliance_path(row)) for row in scope.appliances],
        "logs": [(log, log_path(log)) for log in scope.logs],
    }
    return render_to_string("compliance/print/pack_index.html", {**context, **found}).encode()


def _lines(scope: PackScope) -> Iterator[Line]:
    yield from _charges(scope)
    yield from _events(scope)
    for line in _filings(scope):
        yield {**line, "standing": f"{line['what']}: {line['standing']}"}
    for line in _method_changes(scope):
        yield {**line, "standing": f"Leak rate method changed: {line['standing']}"}
    for line in _method_corrections(scope):
        yield {**line, "standing": f"Leak rate method corrected in the register: {line['standing']}"}


def _place(line: Line) -> tuple[str, str]:
    """Site and appliance; a record of a whole site names no appliance."""
    appliance = line.get("appliance")
    return (appliance.site.name, appliance.name) if appliance else (line["site"].name, "")


def _events(scope: PackScope) -> Iterator[Line]:
    for event in pack_events(scope):
        yield {
            "appliance": event.appliance,
            "on": event.happened_on,
            "record": event.reference,
            "by": event.technician or event.contractor_name,
            "standing": _standing(event, scope),
            "json": record_path(RECORD_KIND, event.pk),
            "pdf": record_path(RECORD_KIND, event.pk, "pdf"),
        }


def _filings(scope: PackScope) -> Iterator[Line]:
    for filing in pack_filings(scope):
        yield {
            "appliance": filing.appliance,
            "on": filing.happened_on,
            "record": filing.reference,
            "what": filing.spec.name,
            "by": filing.filed_by,
            "standing": _standing(filing, scope),
            "json": record_path(FILING_KIND, filing.pk),
            "pdf": record_path(FILING_KIND, filing.pk, "pdf"),
            "documents": [(row.name, document_path(row)) for row in filing.attachments.all()],
        }


def _method_changes(scope: PackScope) -> Iterator[Line]:
    for change in pack_method_changes(scope):
        yield _of_facility(scope, change, CHANGE_KIND)


def _method_corrections(scope: PackScope) -> Iterator[Line]:
    for correction in pack_method_corrections(scope):
        yield _of_facility(scope, correction, CORRECTION_KIND)


def _of_facility(
    scope: PackScope, record: LeakRateMethodChange | LeakRateMethodCorrection, kind: str
) -> Line:
    return {
        "site": record.site,
        "on": record.happened_on,
        "record": record.reference,
        "method": record.get_method_display(),
        "former": record.get_former_method_display(),
        "by": record.filed_by,
        "standing": _standing(record, scope),
        "json": record_path(kind, record.pk),
        "pdf": record_path(kind, record.pk, "pdf"),
    }


def _charges(scope: PackScope) -> Iterator[Line]:
    """What an appliance began with, and each determination of its full charge; its whole record prints them."""
    appliances = {appliance.pk: appliance for appliance in scope.appliances}
    for movement in pack_movements(scope):
        appliance = appliances[movement.appliance_id or 0]
        yield {
            "appliance": appliance,
            "on": movement.happened_on,
            "record": f"{MOVEMENT_KIND.replace('_', '-')}-{movement.pk:06d}",
            "by": movement.filed_by,
            "standing": movement.get_kind_display(),
            "json": record_path(MOVEMENT_KIND, movement.pk),
            "pdf": appliance_path(appliance),
        }
    for determination in pack_determinations(scope):
        appliance = appliances[determination.appliance_id]
        yield {
            "appliance": appliance,
            "on": determination.determined_on,
            "record": f"{FULL_CHARGE_KIND.replace('_', '-')}-{determination.pk:06d}",
            "by": determination.filed_by,
            "standing": "Full charge determined",
            "json": record_path(FULL_CHARGE_KIND, determination.pk),
            "pdf": appliance_path(appliance),
        }


def _standing(record: AnyRecord, scope: PackScope) -> str:
    """How a record stands as the pack knows it, in a few words."""
    newer = newer_record(record, scope.known_at)
    if record.is_void:
        return f"voids {record.supersedes}"
    amends = f"amends {record.supersedes}" if record.supersedes else "as first filed"
    if newer is None:
        return amends
    return f"{amends}; {'voided' if newer.is_void else 'replaced'} by {newer}"
