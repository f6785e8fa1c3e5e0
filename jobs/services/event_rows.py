"""Writes a checked submission as rows: the event, its leaks, transfers, repairs, tests and statements."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from django.db.models import Max

from jobs.models import (
    Appliance,
    Cylinder,
    HolderKind,
    Leak,
    LeakFinding,
    LeakInspection,
    Repair,
    ServiceEvent,
    Statement,
    Transfer,
    VerificationTest,
)
from jobs.services.checks import VisitContext
from jobs.services.checks.statements import plain_details
from jobs.services.holders import external_holder
from jobs.services.log_filing import save_logs
from jobs.services.refusals import Refusals
from jobs.services.submission import INTO_APPLIANCE, LeakRef
from jobs.services.transfer_reversals import reversal_of

# A page's names of what a transfer keeps of the mass that was typed.
MASS_NAMES = {"mass_mg": "mass", "entered_value": "mass", "entered_unit": "mass"}


@dataclass
class EventRows:
    """The unsaved rows of one visit, each list in the order of the submission."""

    event: ServiceEvent
    inspection: LeakInspection | None = None
    findings: list[LeakFinding] = field(default_factory=list)
    transfers: list[Transfer] = field(default_factory=list)
    repairs: list[Repair] = field(default_factory=list)
    tests: list[VerificationTest] = field(default_factory=list)
    statements: list[Statement] = field(default_factory=list)

    def check(self, refusals: Refusals) -> None:
        """Note every text that is missing or too long, and every choice that is none."""
        refusals.check_fields(self.event)
        if self.inspection:
            refusals.check_fields(self.inspection, prefix="inspection_")
        groups: Mapping[str, list] = {
            "leaks": self.findings,
            "transfers": self.transfers,
            "repairs": self.repairs,
            "tests": self.tests,
            "statements": self.statements,
        }
        for name, rows in groups.items():
            for position, row in enumerate(rows):
                refusals.check_fields(row, prefix=f"{name}-{position}-", names=MASS_NAMES)


def build_rows(visit: VisitContext, event: ServiceEvent) -> EventRows:
    """Make the rows of a submission under ``event``, unsaved and without the relations that saving gives them."""
    submission = visit.submission
    rows = EventRows(event)
    if entry := submission.inspection:
        rows.inspection = LeakInspection(
            methods=entry.methods.strip(), is_complete=entry.is_complete, note=entry.note.strip()
        )
    rows.findings = [
        LeakFinding(part=entry.part.strip(), location=entry.location.strip())
        for entry in submission.leaks_found
    ]
    rows.transfers = [
        Transfer(
            position=position,
            refrigerant=designation,
            mass_mg=entry.mass.mass_mg,
            entered_value=entry.mass.value,
            entered_unit=entry.mass.unit,
            happened_on=submission.happened_on,
            reason=entry.reason,
            scale=entry.scale,
            is_recycled=entry.is_recycled,
        )
        for position, (entry, designation) in enumerate(
            zip(submission.transfers, visit.designations, strict=True)
        )
    ]
    rows.repairs = [
        Repair(work_done=entry.work_done.strip(), is_evacuated=entry.is_evacuated)
        for entry in submission.repairs
    ]
    rows.tests = [
        VerificationTest(kind=entry.kind, method=entry.method.strip(), is_passed=entry.is_passed)
        for entry in submission.tests
    ]
    rows.statements = [Statement(kind=entry.kind) for entry in submission.statements]
    return rows


def save_rows(visit: VisitContext, rows: EventRows) -> set[Appliance | Cylinder]:
    """Save checked rows, and reverse the transfers of the event that they take the place of.

    Returns:
        The appliance and the cylinders whose books the event is part of.
    """
    submission = visit.submission
    rows.event.save()
    leaks = _save_leaks(visit, rows)
    for repair, repaired in zip(rows.repairs, submission.repairs, strict=True):
        repair.leak = _leak(leaks, repaired.leak)
    for test, tested in zip(rows.tests, submission.tests, strict=True):
        test.leak = _leak(leaks, tested.leak)
    for statement, stated in zip(rows.statements, submission.statements, strict=True):
        statement.details = plain_details(stated.details)
    _join_holders(visit, rows, leaks)
    rows.transfers += _reversals(visit.superseded, first_position=len(rows.transfers))
    _save(rows.event, [rows.inspection] if rows.inspection else [])
    for group in (rows.findings, rows.transfers, rows.repairs, rows.tests, rows.statements):
        _save(rows.event, group)
    logs = [entry.log for entry in submission.transfers]
    save_logs(rows.event, zip(rows.transfers, logs, strict=False))
    holders = {holder for row in rows.transfers for holder in (row.from_holder, row.to_holder)}
    return {
        visit.appliance,
        *(visit.books[holder.cylinder_id].cylinder for holder in holders if holder.cylinder_id),
    }


def _save(event: ServiceEvent, rows: list) -> None:
    for row in rows:
        row.event = event
    if rows:
        type(rows[0]).objects.bulk_create(rows)


def _save_leaks(visit: VisitContext, rows: EventRows) -> dict[str, Leak]:
    """Give every leak found its identity: the one it has, or the appliance's next number."""
    named: dict[str, Leak] = {}
    new = [entry for entry in visit.submission.leaks_found if entry.leak is None]
    if new:
        last = visit.appliance.leaks.aggregate(last=Max("number"))["last"] or 0
        numbered = [Leak(appliance=visit.appliance, number=last + place) for place in range(1, len(new) + 1)]
        Leak.objects.bulk_create(numbered)
        named = {entry.reference: leak for entry, leak in zip(new, numbered, strict=True)}
    named |= {entry.reference: entry.leak for entry in visit.submission.leaks_found if entry.leak}
    for row, entry in zip(rows.findings, visit.submission.leaks_found, strict=True):
        row.leak = named[entry.reference]
    return named


def _leak(named: dict[str, Leak], leak: LeakRef) -> Leak:
    return named[leak] if isinstance(leak, str) else leak


def _join_holders(visit: VisitContext, rows: EventRows, leaks: dict[str, Leak]) -> None:
    """Say of each transfer whose account it leaves and whose it enters."""
    appliance = visit.appliance.holder
    for row, entry in zip(rows.transfers, visit.submission.transfers, strict=True):
        if entry.cylinder:
            other = visit.books[entry.cylinder.pk].cylinder.holder
        else:
            other = external_holder(HolderKind.OTHER_CONTRACTOR, visit.submission.contractor_name)
        into = entry.direction == INTO_APPLIANCE
        row.from_holder, row.to_holder = (other, appliance) if into else (appliance, other)
        row.leak = None if entry.leak is None else _leak(leaks, entry.leak)


def _reversals(superseded: ServiceEvent | None, *, first_position: int) -> list[Transfer]:
    """The transfers that undo those of the superseded event, on the days those happened on."""
    if superseded is None:
        return []
    undone = (
        superseded.transfers.filter(reverses=None)
        .select_related("from_holder", "to_holder")
        .order_by("position")
    )
    return [reversal_of(row, position=position) for position, row in enumerate(undone, start=first_position)]
