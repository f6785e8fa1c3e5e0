"""What an amendment changed: the two versions of a visit, set against each other line by line."""

from collections.abc import Iterator
from dataclasses import dataclass

from compliance.selectors.event_record import Move, figures_of, moves_of
from jobs.models import ServiceEvent, WorkKind

RUNNING = {True: "Running", False: "Not running", None: "Not stated"}


@dataclass(frozen=True)
class Change:
    """One thing that the versions say differently; an empty list is nothing said."""

    label: str
    before: list[str]
    after: list[str]


def event_changes(before: ServiceEvent, after: ServiceEvent) -> list[Change]:
    """What differs between two versions of a visit, in the order of the record.

    Args:
        before: the former version, from ``whole_events``.
        after: the later one, likewise.
    """
    former, later = dict(_lines(before)), dict(_lines(after))
    return [Change(label, former[label], later[label]) for label in later if former[label] != later[label]]


def _lines(event: ServiceEvent) -> Iterator[tuple[str, list[str]]]:
    """All that a version says, under the labels of the record; every version gives every label."""
    yield "Date at the site", [event.happened_on.isoformat()]
    yield "Whose work", _said(event.get_origin_display(), event.contractor_name)
    yield "Technician", _said(event.technician)
    yield "Supervisor", _said(event.supervisor)
    yield "Kinds of work", [str(WorkKind(kind).label) for kind in event.work_kinds]
    yield "Parts and work", [event.work_done]
    yield "Circuit opened", ["Yes" if event.is_circuit_opened else "No"]
    yield "Why it was opened", _said(event.get_opening_kind_display(), event.opening_note)
    yield "Compressor during the recovery", [RUNNING[event.is_compressor_running]]
    yield "Read before opening", _vacuum(event)
    yield "Recovery machine", _said(event.recovery_machine)
    yield "Gauge", _said(event.gauge)
    yield "Refrigerant moved", [_move(move) for move in moves_of(event) if move.transfer.reverses_id is None]
    yield "Leak inspection", _inspection(event)
    yield "Leaks found", [f"{row.leak}: {row.part}, {row.location}" for row in event.leak_findings.all()]
    yield (
        "Repairs",
        [
            f"{row.leak}: {row.work_done}{' (evacuated for it)' if row.is_evacuated else ''}"
            for row in event.repairs.all()
        ],
    )
    yield "Verification tests", [f"{row}, {row.method}" for row in event.verification_tests.all()]
    yield (
        "Statements",
        [": ".join(_said(row.get_kind_display(), figures_of(row))) for row in event.statements.all()],
    )
    yield "Owner told", _said(event.owner_told_on, event.owner_told_name, event.get_owner_decision_display())
    yield "Signed by", _said(event.signature_name, "with a drawing" if event.signature_svg_path else "")


def _said(*parts: object) -> list[str]:
    return [str(part) for part in parts if part]


def _vacuum(event: ServiceEvent) -> list[str]:
    if event.final_vacuum is None:
        return []
    return [f"{event.final_vacuum.normalize():f} {event.get_final_vacuum_unit_display()}"]


def _move(move: Move) -> str:
    way = "into" if move.is_addition else "out of"
    transfer = move.transfer
    leak = f", for {transfer.leak}" if transfer.leak else ""
    what = f"{transfer.as_typed} {transfer.refrigerant} {way} the appliance"
    scale = f", {transfer.scale}" if transfer.scale else ""
    log = f", with the log {transfer.weigh_log}" if hasattr(transfer, "weigh_log") else ""
    recycled = ", recycled" if transfer.is_recycled else ""
    return f"{what}, {move.other}, {transfer.get_reason_display()}{recycled}{leak}{scale}{log}"


def _inspection(event: ServiceEvent) -> list[str]:
    inspection = getattr(event, "leak_inspection", None)
    if inspection is None:
        return []
    extent = "all visible and accessible parts" if inspection.is_complete else "not all parts"
    return _said(f"{inspection.methods}: {extent}", inspection.note)
