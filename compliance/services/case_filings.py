"""Files what a case needs beside visits, amends it and withdraws it: each in one transaction, all of it or nothing."""

import datetime
import hashlib
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID, uuid4

from django.utils import timezone

from compliance.rulebook.filings.check import filing_objections
from compliance.rulebook.filings.situation import Situation
from compliance.rulebook.filings.specs import FilingKind
from compliance.selectors.case_snapshot import case_snapshot
from compliance.selectors.filed_facts import filed_facts
from compliance.selectors.filing_situation import filing_situation
from compliance.services.assessments import appliance_reassess
from jobs.models import Appliance, CaseFiling, DocumentFile, FilingAttachment
from jobs.services.amendments import in_place_of, standing_record
from jobs.services.chain import chain_extend
from jobs.services.entries import local_date
from jobs.services.once import file_once
from jobs.services.refusals import Refusals
from portal.accounts.models import User

DOCUMENT_BYTES_MAX = 20 * 1024 * 1024
DOCUMENTS_MAX = 10
NOTE_LENGTH_MAX = 4000


@dataclass(frozen=True)
class Document:
    """A document as it was chosen: its name, its type and its bytes."""

    name: str
    media_type: str
    content: bytes

    @property
    def sha256(self) -> str:
        """The SHA-256 of its bytes."""
        return hashlib.sha256(self.content).hexdigest()


@dataclass(frozen=True)
class FilingSubmission:
    """All that is typed to file something: ``details`` by the names of the kind's evidence, in JSON's own types."""

    appliance: Appliance
    kind: FilingKind
    happened_on: datetime.date
    details: Mapping[str, Any]
    note: str = ""
    documents: tuple[Document, ...] = ()
    submission_id: UUID = field(default_factory=uuid4)


def case_filing_file(
    *, by: User, submission: FilingSubmission, filed_at: datetime.datetime | None = None
) -> CaseFiling:
    """File something about a case; the same submission sent twice is filed once.

    Args:
        by: who files.
        submission: all that was typed.
        filed_at: the instant that counts as now; now, unless given.

    Raises:
        SubmissionRefused: evidence is missing, or the paragraph's conditions aren't met; nothing is saved.
    """
    filed_at = filed_at or timezone.now()

    def file() -> CaseFiling:
        appliance = _lock(submission.appliance)
        first = CaseFiling.objects.filter(submission_id=submission.submission_id).first()
        if first is not None:
            _check_same(first, submission)
            return first
        return _write(by, submission, appliance, filed_at)

    return file_once(CaseFiling, submission.submission_id, file)


def case_filing_amend(
    *,
    by: User,
    filing: CaseFiling,
    submission: FilingSubmission,
    reason: str,
    filed_at: datetime.datetime | None = None,
) -> CaseFiling:
    """File what a filing should have said; the former one stays, superseded, and its documents with it.

    Args:
        by: who amends.
        filing: the one that stands.
        submission: as it should have been filed, with a submission id of its own; documents are those to add.
        reason: why.
        filed_at: the instant that counts as now; now, unless given.

    Raises:
        SubmissionRefused: it doesn't stand any more, no reason is given, or the conditions aren't met without it.
    """
    filed_at = filed_at or timezone.now()

    def amend() -> CaseFiling:
        appliance = _lock(filing.appliance)
        first = CaseFiling.objects.filter(submission_id=submission.submission_id).first()
        if first is not None:
            return first
        former = standing_record(filing, reason, word="filing")
        if submission.kind != former.kind or submission.appliance.pk != former.appliance_id:
            _refuse("kind", submission.kind, f"Expected “{former.spec.name}” of the same appliance.")
        return _write(by, submission, appliance, filed_at, former=former, reason=reason)

    return file_once(CaseFiling, submission.submission_id, amend)


def case_filing_withdraw(
    *,
    by: User,
    filing: CaseFiling,
    reason: str,
    filed_at: datetime.datetime | None = None,
    submission_id: UUID | None = None,
) -> CaseFiling:
    """File that a filing counts no more; it stays readable.

    Raises:
        SubmissionRefused: it doesn't stand any more, no reason is given, or later filings rest on it.
    """
    filed_at = filed_at or timezone.now()
    submission_id = submission_id or uuid4()

    def withdraw() -> CaseFiling:
        appliance = _lock(filing.appliance)
        if first := CaseFiling.objects.filter(submission_id=submission_id).first():
            return first
        former = standing_record(filing, reason, word="filing")
        _check_nothing_rests_on(former, local_date(appliance.site, filed_at))
        row = CaseFiling(
            submission_id=submission_id,
            kind=former.kind,
            appliance=appliance,
            happened_on=former.happened_on,
            filed_at=filed_at,
            filed_by=by,
            is_void=True,
            **in_place_of(former, reason),
        )
        return _save(row, (), appliance)

    return file_once(CaseFiling, submission_id, withdraw)


def _lock(appliance: Appliance) -> Appliance:
    locked = Appliance.objects.select_for_update(no_key=True, of=("self",)).select_related("site__customer")
    return locked.get(pk=appliance.pk)


def _write(
    by: User,
    submission: FilingSubmission,
    appliance: Appliance,
    filed_at: datetime.datetime,
    *,
    former: CaseFiling | None = None,
    reason: str = "",
) -> CaseFiling:
    """Check the submission on its day, save it with its documents, lengthen the chain and assess the appliance anew."""
    today = local_date(appliance.site, filed_at)
    refusals = Refusals()
    refusals.check_day("happened_on", submission.happened_on, latest=today, earliest=appliance.installed_on)
    _check_documents(submission, refusals)
    refusals.raise_any()
    situation = filing_situation(appliance, on=submission.happened_on, today=today, without=former)
    _check_conditions(submission, situation, refusals)
    refusals.raise_any()
    row = CaseFiling(
        submission_id=submission.submission_id,
        kind=submission.kind.value,
        appliance=appliance,
        happened_on=submission.happened_on,
        details=dict(submission.details),
        case=case_snapshot(appliance, situation),
        note=submission.note.strip(),
        filed_at=filed_at,
        filed_by=by,
        **in_place_of(former, reason),
    )
    kept = tuple(former.attachments.select_related("file")) if former else ()
    return _save(row, submission.documents, appliance, kept)


def _save(
    row: CaseFiling,
    documents: tuple[Document, ...],
    appliance: Appliance,
    kept: tuple[FilingAttachment, ...] = (),
) -> CaseFiling:
    row.save()
    files = [
        DocumentFile(
            sha256=document.sha256,
            byte_count=len(document.content),
            compressed=zlib.compress(document.content),
        )
        for document in documents
    ]
    DocumentFile.objects.bulk_create(files, ignore_conflicts=True)
    attached = [(old.file_id, old.name, old.media_type) for old in kept]
    attached += [(one.sha256, one.name, one.media_type) for one in documents]
    FilingAttachment.objects.bulk_create(
        FilingAttachment(filing=row, position=place, file_id=sha256, name=name, media_type=media_type)
        for place, (sha256, name, media_type) in enumerate(attached)
    )
    chain_extend(row, [appliance])
    as_of = local_date(appliance.site, row.filed_at)
    appliance_reassess(appliance=appliance, as_of=as_of, assessed_at=row.filed_at)
    return row


def _check_documents(submission: FilingSubmission, refusals: Refusals) -> None:
    if len(submission.note) > NOTE_LENGTH_MAX:
        refusals.add("note", submission.note[:40], f"Expected at most {NOTE_LENGTH_MAX} characters.")
    if len(submission.documents) > DOCUMENTS_MAX:
        refusals.add("documents", len(submission.documents), f"Expected at most {DOCUMENTS_MAX} documents.")
    for document in submission.documents:
        if not document.content:
            refusals.add("documents", document.name, "Expected a document; this file is empty.")
        elif len(document.content) > DOCUMENT_BYTES_MAX:
            expected = f"Expected a document of at most {DOCUMENT_BYTES_MAX // 1024**2} MB."
            refusals.add("documents", document.name, expected)


def _check_conditions(submission: FilingSubmission, situation: Situation, refusals: Refusals) -> None:
    for objection in filing_objections(submission.kind, situation, submission.details):
        refusals.add(objection.field, objection.value, objection.expected, objection.citation)


def _check_same(first: CaseFiling, submission: FilingSubmission) -> None:
    """Refuse a form that was filed before with other contents."""
    typed = (submission.appliance.pk, submission.kind.value, submission.happened_on, dict(submission.details))
    if typed != (first.appliance_id, first.kind, first.happened_on, first.details):
        expected = f"This form was filed before as {first}, with other contents. To correct that, amend it."
        _refuse("submission_id", submission.submission_id, expected)


def _check_nothing_rests_on(filing: CaseFiling, today: datetime.date) -> None:
    """Refuse to take away what a later filing rests on, such as a plan of which relief was asked."""
    situation = filing_situation(filing.appliance, on=filing.happened_on, today=today, without=filing)
    for fact in filed_facts([filing]):
        for warning in situation.warnings_without(fact):
            _refuse("filing", filing, f"Expected one that nothing rests on. {warning} Withdraw that first.")


def _refuse(name: str, value: Any, expected: str) -> None:
    refusals = Refusals()
    refusals.add(name, value, expected)
    refusals.raise_any()
