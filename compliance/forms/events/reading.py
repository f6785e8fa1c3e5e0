"""Turns the forms of the event page, once they are valid, into the submission that the service files."""

from collections.abc import Callable, Iterator
from typing import Any

from compliance.forms.events.choices import NEW_LEAK
from compliance.forms.events.rows import EventRowForm
from compliance.forms.events.visit import VisitForm
from jobs.models import Appliance, StatementKind
from jobs.services.submission import (
    OUT_OF_APPLIANCE,
    EventSubmission,
    InspectionEntry,
    LeakEntry,
    RepairEntry,
    StatementEntry,
    TestEntry,
    TransferEntry,
)

FilledRows = Callable[[str], list[tuple[int, EventRowForm]]]


def read_submission(appliance: Appliance, visit: VisitForm, filled: FilledRows) -> EventSubmission:
    """Read all that was typed about one visit.

    Args:
        appliance: the one visited.
        visit: its form, valid.
        filled: by formset's name, the rows that say something, each with its place on the page.
    """
    typed = visit.cleaned_data
    return EventSubmission(
        submission_id=typed["submission_id"],
        appliance=appliance,
        happened_on=typed["happened_on"],
        origin=typed["origin"],
        contractor_name=typed["contractor_name"],
        technician=typed["technician"],
        supervisor=typed["supervisor"],
        work_kinds=tuple(typed["work_kinds"]),
        work_done=typed["work_done"],
        is_circuit_opened=typed["is_circuit_opened"],
        opening_kind=typed["opening_kind"],
        opening_note=typed["opening_note"],
        is_compressor_running=typed["is_compressor_running"],
        recovery_machine=typed["recovery_machine"] if _has_recovered(typed, filled) else None,
        gauge=typed["gauge"] if typed["is_circuit_opened"] else None,
        final_vacuum=typed["final_vacuum"],
        final_vacuum_unit=typed["final_vacuum_unit"] if typed["final_vacuum"] is not None else "",
        transfers=tuple(TransferEntry(**row) for row in _rows(filled, "transfers")),
        inspection=_inspection(visit),
        leaks_found=tuple(
            LeakEntry(f"{NEW_LEAK}{place + 1}", **form.cleaned_data) for place, form in filled("leaks")
        ),
        repairs=tuple(RepairEntry(**row) for row in _rows(filled, "repairs")),
        tests=tuple(TestEntry(**row) for row in _rows(filled, "tests")),
        statements=tuple(_statements(visit, filled)),
        signature_name=typed["signature_name"],
        signature_svg_path=typed["signature_svg_path"],
        owner_told_on=typed["owner_told_on"],
        owner_told_name=typed["owner_told_name"],
        owner_decision=typed["owner_decision"],
        is_separate_visit=typed["is_separate_visit"],
    )


def _rows(filled: FilledRows, name: str) -> Iterator[dict[str, Any]]:
    return (form.cleaned_data for _, form in filled(name))


def _has_recovered(typed: dict[str, Any], filled: FilledRows) -> bool:
    """Whether a recovery machine was at work; the box stands at the technician's usual one on every visit."""
    is_taken_out = any(row["direction"] == OUT_OF_APPLIANCE for row in _rows(filled, "transfers"))
    return typed["is_circuit_opened"] or is_taken_out


def _inspection(visit: VisitForm) -> InspectionEntry | None:
    methods = visit.inspection_text
    if not methods:
        return None
    typed = visit.cleaned_data
    return InspectionEntry(methods, typed["is_inspection_complete"], typed["inspection_note"])


def _statements(visit: VisitForm, filled: FilledRows) -> Iterator[StatementEntry]:
    if visit.cleaned_data["is_back_to_normal"]:
        yield StatementEntry(StatementKind.NORMAL_OPERATION)
    for row in _rows(filled, "statements"):
        yield StatementEntry(row["kind"], _details(row))


def _details(row: dict[str, Any]) -> dict[str, Any]:
    """The figures that a kind of statement takes, under the rulebook's keys; the service says which are missing."""
    kind = row["kind"]
    if kind == StatementKind.FULL_CHARGE_CHANGE:
        return _charge(row) | ({"method": row["method"]} if row["method"] else {})
    if kind == StatementKind.RETROFITTED:
        return _charge(row) | {"refrigerant": row["refrigerant"]}
    if kind in (StatementKind.CHRONIC_LEAK_REPORT_FILED, StatementKind.ANNUAL_REPORT_FILED):
        return {"year": row["year"]}
    return {}


def _charge(row: dict[str, Any]) -> dict[str, Any]:
    return {"full_charge_mg": row["full_charge"].mass_mg if row["full_charge"] else None}
