"""What an event page stands filled with before anyone types: a new visit, one that settles something, a filed one."""

import datetime
import uuid
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from compliance.forms.events.visit import split_methods
from compliance.rulebook.masses import in_unit, parse_mass_mg
from compliance.rulebook.results import ObligationKind
from compliance.selectors.event_form import EventBackground
from jobs.models import (
    HolderKind,
    ServiceEvent,
    StatementKind,
    Technician,
    Transfer,
    WorkKind,
    WorkOrigin,
)
from jobs.services.entries import EnteredMass
from jobs.services.log_uploads import kept_token
from jobs.services.submission import INTO_APPLIANCE, OUT_OF_APPLIANCE

Row = dict[str, Any]


@dataclass(frozen=True)
class EventInitial:
    """Initial values of the visit's form and of its rows, and sections that stand open from the start."""

    visit: dict[str, Any]
    rows: dict[str, list[Row]] = field(default_factory=dict)
    open_sections: frozenset[str] = frozenset()


COPIED_FIELDS = (
    "happened_on",
    "origin",
    "contractor_name",
    "work_kinds",
    "work_done",
    "is_circuit_opened",
    "opening_kind",
    "opening_note",
    "final_vacuum",
    "final_vacuum_unit",
    "owner_told_on",
    "owner_told_name",
    "owner_decision",
    "signature_name",
    "signature_svg_path",
    "is_separate_visit",
)

# What each obligation asks for on a visit: the kind of work to tick, and the section to open.
SETTLING = {
    ObligationKind.REPAIR: (WorkKind.LEAK_REPAIR, "repairs"),
    ObligationKind.INITIAL_VERIFICATION_TEST: (WorkKind.VERIFICATION, "tests"),
    ObligationKind.FOLLOW_UP_VERIFICATION_TEST: (WorkKind.VERIFICATION, "tests"),
    ObligationKind.LEAK_INSPECTION: (WorkKind.LEAK_INSPECTION, "inspection"),
    ObligationKind.LEAK_CHECK: (WorkKind.LEAK_INSPECTION, "inspection"),
    ObligationKind.RETROFIT_OR_RETIREMENT: (None, "more"),
}
# Not an obligation of the rules, but asked for in the same way: to record that the owner was told.
OWNER_TOLD = "owner"
SETTLING_STATEMENTS = {
    ObligationKind.RETROFIT_OR_RETIREMENT: StatementKind.RETIRED,
}


def new_visit(
    background: EventBackground, *, technician: Technician | None, today: datetime.date, settles: str = ""
) -> EventInitial:
    """A visit of today by ``technician``; ``settles`` names the kind of obligation that it is meant to meet."""
    visit = {
        "submission_id": uuid.uuid4(),
        "happened_on": today,
        "origin": WorkOrigin.OWN,
        "technician": technician.pk if technician else "",
        "is_inspection_complete": True,
        "final_vacuum_unit": "micron",
        "recovery_machine": background.usual.machine_id or "",
        "gauge": background.usual.gauge_id or "",
    }
    rows: dict[str, list[Row]] = {}
    work, section = (None, OWNER_TOLD) if settles == OWNER_TOLD else SETTLING.get(settles, (None, ""))
    if work:
        visit["work_kinds"] = [work]
    if settles in SETTLING_STATEMENTS:
        rows["statements"] = [{"kind": SETTLING_STATEMENTS[settles]}]
    if section in ("repairs", "tests"):
        rows[section] = _rows_for_open_leaks(background, settles)
    return EventInitial(visit, rows, frozenset({section} - {""}))


def filed_visit(event: ServiceEvent, background: EventBackground) -> EventInitial:
    """A filed event's values, to be amended; every row and figure as it was typed."""
    methods, other = split_methods(_inspected(event, "methods", default=""))
    statements = list(event.statements.all())
    visit = {
        "submission_id": uuid.uuid4(),
        **{name: getattr(event, name) for name in COPIED_FIELDS},
        "technician": event.technician_id or "",
        "supervisor": event.supervisor_id or "",
        "recovery_machine": event.recovery_machine_id or "",
        "gauge": event.gauge_id or "",
        "is_compressor_running": {True: "yes", False: "no"}.get(event.is_compressor_running, ""),
        "inspection_methods": methods,
        "inspection_other": other,
        "is_inspection_complete": _inspected(event, "is_complete", default=True),
        "inspection_note": _inspected(event, "note", default=""),
        "is_back_to_normal": any(row.kind == StatementKind.NORMAL_OPERATION for row in statements),
    }
    rows = {
        "transfers": [
            _transfer_row(row, background) for row in event.transfers.all() if row.reverses_id is None
        ],
        "leaks": [
            {"part": row.part, "location": row.location, "leak": row.leak_id}
            for row in event.leak_findings.all()
        ],
        "repairs": [
            {"leak": row.leak_id, "work_done": row.work_done, "is_evacuated": row.is_evacuated}
            for row in event.repairs.all()
        ],
        "tests": [
            {
                "leak": row.leak_id,
                "kind": row.kind,
                "method": row.method,
                "is_passed": "yes" if row.is_passed else "no",
            }
            for row in event.verification_tests.all()
        ],
        "statements": [
            _statement_row(row.kind, row.details)
            for row in statements
            if row.kind != StatementKind.NORMAL_OPERATION
        ],
    }
    return EventInitial(visit, rows)


def _inspected(event: ServiceEvent, name: str, *, default: Any) -> Any:
    inspection = getattr(event, "leak_inspection", None)
    return getattr(inspection, name) if inspection else default


def _transfer_row(transfer: Transfer, background: EventBackground) -> Row:
    is_addition = transfer.to_holder.kind == HolderKind.APPLIANCE
    other = transfer.from_holder if is_addition else transfer.to_holder
    return {
        "direction": INTO_APPLIANCE if is_addition else OUT_OF_APPLIANCE,
        "cylinder": other.cylinder_id or "",
        "mass": EnteredMass(transfer.entered_value, transfer.entered_unit, transfer.mass_mg),
        "reason": transfer.reason,
        "scale": transfer.scale_id or "",
        "is_recycled": transfer.is_recycled,
        "leak": transfer.leak_id or "",
        "log": kept_token(transfer.weigh_log) if hasattr(transfer, "weigh_log") else "",
        "refrigerant": ""
        if transfer.refrigerant == background.refrigerant.designation
        else transfer.refrigerant,
    }


def _statement_row(kind: str, details: dict[str, Any]) -> Row:
    row = {"kind": kind, **{key: details[key] for key in ("method", "refrigerant", "year") if key in details}}
    if "full_charge_mg" in details:
        row["full_charge"] = _typed_mass(details["full_charge_mg"])
    return row


def _typed_mass(mass_mg: int) -> EnteredMass:
    """A mass as someone might have typed it, to the milligram: pounds where they hit it, else kilograms."""
    pounds = f"{in_unit(mass_mg, 'lb').normalize():f}"
    if parse_mass_mg(pounds, "lb") == mass_mg:
        return EnteredMass(pounds, "lb", mass_mg)
    return EnteredMass(f"{Decimal(mass_mg).scaleb(-6).normalize():f}", "kg", mass_mg)


def _rows_for_open_leaks(background: EventBackground, settles: str) -> list[Row]:
    """A row for each leak that isn't done with, so that none is forgotten."""
    leaks = [str(option.leak.pk) for option in background.leaks if not option.is_verified]
    if settles == ObligationKind.REPAIR:
        return [{"leak": leak} for leak in leaks]
    return [{"leak": leak, "kind": settles} for leak in leaks]
