"""Files service events, amends them and voids them: each in one transaction, all of it or nothing."""

import datetime
from dataclasses import dataclass
from uuid import UUID, uuid4

from django.utils import timezone

from jobs.models import Appliance, Cylinder, Leak, LeakFinding, ServiceEvent
from jobs.selectors.appliances import charge_in_force
from jobs.selectors.events import OF_STANDING_EVENT
from jobs.services.chain import chain_extend
from jobs.services.checks import VisitContext, check_event, check_void
from jobs.services.cylinder_books import lock_cylinder_books
from jobs.services.event_content import content_sha256
from jobs.services.event_lines import (
    amended_before,
    check_same_appliance,
    filed_before,
    standing_event,
    with_identities,
)
from jobs.services.event_rows import build_rows, save_rows
from jobs.services.once import file_once
from jobs.services.submission import EventSubmission
from jobs.signals import service_event_filed
from portal.accounts.models import User


@dataclass(frozen=True)
class Filing:
    """The answer to a filing: the event on record, and whether it was there before."""

    event: ServiceEvent
    was_already_filed: bool


def service_event_file(
    *, by: User, submission: EventSubmission, filed_at: datetime.datetime | None = None
) -> Filing:
    """File a visit; the same one sent twice is filed once.

    Args:
        by: who files.
        submission: all that was typed.
        filed_at: the instant that counts as now; now, unless given.

    Raises:
        SubmissionRefused: with everything that is wrong; nothing is saved.
    """
    filed_at = filed_at or timezone.now()

    def file() -> Filing:
        appliance = _lock_appliance(submission.appliance)
        if first := filed_before(submission):
            return Filing(first, was_already_filed=True)
        visit = _visit(submission, appliance, filed_at)
        check_event(visit)
        return _write(visit, _event(visit, by, content_sha256(submission)))

    return file_once(ServiceEvent, submission.submission_id, file)


def service_event_amend(
    *,
    by: User,
    event: ServiceEvent,
    submission: EventSubmission,
    reason: str,
    filed_at: datetime.datetime | None = None,
) -> Filing:
    """File what an event should have said; the former record stays, superseded, and its transfers are reversed.

    A leak that the former record found keeps its identity if the submission names it (``LeakEntry.leak``) or gives
    the same part and place.

    Args:
        by: who amends.
        event: the record that stands.
        submission: the visit as it should have been filed, with a submission id of its own.
        reason: why it is amended.
        filed_at: the instant that counts as now; now, unless given.

    Raises:
        SubmissionRefused: the event doesn't stand any more, or something is wrong; nothing is saved.
    """
    filed_at = filed_at or timezone.now()

    def amend() -> Filing:
        appliance = _lock_appliance(event.appliance)
        if first := amended_before(submission, event):
            return Filing(first, was_already_filed=True)
        superseded = standing_event(event, reason)
        check_same_appliance(submission, superseded)
        visit = _visit(with_identities(submission, superseded), appliance, filed_at, superseded)
        check_event(visit)
        return _write(visit, _event(visit, by, content_sha256(submission), reason=reason))

    return file_once(ServiceEvent, submission.submission_id, amend)


def service_event_void(
    *,
    by: User,
    event: ServiceEvent,
    reason: str,
    filed_at: datetime.datetime | None = None,
    submission_id: UUID | None = None,
) -> Filing:
    """File that a visit never took place; its record stays, superseded, and its transfers are reversed.

    Raises:
        SubmissionRefused: the event doesn't stand any more, or later records can't stand without it.
    """
    filed_at = filed_at or timezone.now()
    submission_id = submission_id or uuid4()

    def void() -> Filing:
        appliance = _lock_appliance(event.appliance)
        superseded = standing_event(event, reason)
        submission = EventSubmission(
            submission_id=submission_id,
            appliance=appliance,
            happened_on=superseded.happened_on,
            technician=superseded.technician,
            work_done=superseded.work_done,
            origin=superseded.origin,
            contractor_name=superseded.contractor_name,
            supervisor=superseded.supervisor,
            work_kinds=tuple(superseded.work_kinds),
        )
        visit = _visit(submission, appliance, filed_at, superseded)
        check_void(visit)
        return _write(visit, _event(visit, by, content_sha256(submission), reason=reason, is_void=True))

    return file_once(ServiceEvent, submission_id, void)


def _lock_appliance(appliance: Appliance) -> Appliance:
    locked = Appliance.objects.select_for_update(no_key=True, of=("self",)).select_related(
        "site__customer", "holder"
    )
    return locked.get(pk=appliance.pk)


def _visit(
    submission: EventSubmission,
    appliance: Appliance,
    filed_at: datetime.datetime,
    superseded: ServiceEvent | None = None,
) -> VisitContext:
    """Lock the cylinders and gather what the submission is held against."""
    cylinders = [entry.cylinder for entry in submission.transfers if entry.cylinder]
    if superseded is not None:
        moved = Cylinder.objects.filter(
            holder__in=superseded.transfers.values("from_holder")
        ) | Cylinder.objects.filter(holder__in=superseded.transfers.values("to_holder"))
        cylinders += moved
    standing = LeakFinding.objects.filter(OF_STANDING_EVENT, leak__appliance=appliance)
    if superseded is not None:
        standing = standing.exclude(event=superseded)
    return VisitContext(
        submission=submission,
        appliance=appliance,
        filed_at=filed_at,
        charge=charge_in_force(appliance, submission.happened_on, without=superseded),
        books=lock_cylinder_books(cylinders, without=superseded),
        leaks={leak.pk: leak for leak in Leak.objects.filter(findings__in=standing)},
        superseded=superseded,
    )


def _event(
    visit: VisitContext, by: User, content: str, *, reason: str = "", is_void: bool = False
) -> ServiceEvent:
    submission, superseded = visit.submission, visit.superseded
    return ServiceEvent(
        submission_id=submission.submission_id,
        content_sha256=content,
        is_separate_visit=submission.is_separate_visit,
        appliance=visit.appliance,
        happened_on=submission.happened_on,
        filed_at=visit.filed_at,
        filed_by=by,
        origin=submission.origin,
        contractor_name=submission.contractor_name.strip(),
        technician=submission.technician,
        certification=visit.certification,
        supervisor=submission.supervisor,
        work_kinds=sorted(set(submission.work_kinds)),
        work_done=submission.work_done.strip(),
        is_circuit_opened=submission.is_circuit_opened,
        opening_kind=submission.opening_kind,
        opening_note=submission.opening_note.strip(),
        is_compressor_running=submission.is_compressor_running,
        recovery_machine=submission.recovery_machine,
        gauge=submission.gauge,
        final_vacuum=submission.final_vacuum,
        final_vacuum_unit=submission.final_vacuum_unit,
        signature_name=submission.signature_name.strip(),
        signature_svg_path=submission.signature_svg_path,
        owner_told_on=submission.owner_told_on,
        owner_told_name=submission.owner_told_name.strip(),
        owner_decision=submission.owner_decision,
        supersedes=superseded,
        original_id=(superseded.original_id or superseded.pk) if superseded else None,
        amendment_reason=reason.strip(),
        is_void=is_void,
    )


def _write(visit: VisitContext, event: ServiceEvent) -> Filing:
    """Check the rows as rows, save all of them, lengthen the chains and announce the filing."""
    rows = build_rows(visit, event)
    rows.check(visit.refusals)
    visit.refusals.raise_any()
    subjects = save_rows(visit, rows)
    chain_extend(event, subjects)
    service_event_filed.send(sender=ServiceEvent, event=event, filed_at=visit.filed_at)
    return Filing(event, was_already_filed=False)
