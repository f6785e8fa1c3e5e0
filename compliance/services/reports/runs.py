"""Report runs: asked for on a page, made by a worker, kept.

The row is the order and the result. A worker claims it by a conditional update, tells how far it is, and keeps what
came out; one that is killed leaves a claim that grows old, and the next takes it over.
"""

import gzip
import hashlib
import json
import logging
import time
from datetime import datetime, timedelta
from typing import Any

from django.core.files.base import ContentFile
from django.db import transaction
from django.db.models import F

from compliance.models import ReportKind, ReportRun, WorkState
from compliance.selectors.reports.document import ReportDocument
from compliance.selectors.reports.parameters import Progress, ReportParameters
from compliance.services.reports.catalogue import report_type
from compliance.services.reports.pdf import print_content
from compliance.services.work_orders import (
    ANEW,
    ATTEMPTS_MAX,
    CANDIDATES,
    GIVEN_UP,
    PROGRESS_EVERY_S,
    order_announce,
    order_fail,
    order_is_due,
)
from portal.accounts.models import User

logger = logging.getLogger(__name__)

#: Far longer than a piece of a report takes: who has given no sign of life for so long was killed.
CLAIM_LASTS = timedelta(minutes=25)
#: By name: tasks call services, never the other way.
MAKE_TASK = "compliance.tasks.make_report"


@transaction.atomic
def report_request(*, by: User, kind: ReportKind, parameters: ReportParameters) -> ReportRun:
    """Ask for a report; a worker is told of it once the order stands in the database."""
    run = ReportRun(
        kind=kind,
        customer=parameters.customer,
        site=parameters.site,
        appliance=parameters.appliance,
        year=parameters.year,
        options=parameters.options,
        as_of=parameters.as_of,
        known_at=parameters.known_at,
        run_by=by,
        run_at=parameters.run_at,
    )
    run.full_clean(exclude=["document"])
    run.save()
    order_announce(run, MAKE_TASK)
    return run


@transaction.atomic
def report_retry(*, run: ReportRun) -> None:
    """Put a failed run back into the queue; one that isn't failed stays as it is."""
    if ReportRun.objects.filter(pk=run.pk, state=WorkState.FAILED).update(**ANEW):
        order_announce(run, MAKE_TASK)


def report_claim(
    *, now: datetime, pk: int | None = None, asked_before: datetime | None = None
) -> ReportRun | None:
    """Take a run that waits or was abandoned; None where another worker has it or nothing waits.

    Args:
        now: the instant that counts as now.
        pk: this run alone; the oldest unless given.
        asked_before: of those that were asked for before this instant.
    """
    is_due = order_is_due(now=now, claim_lasts=CLAIM_LASTS)
    due = ReportRun.objects.filter(is_due).order_by("run_at", "pk")
    if pk is not None:
        due = due.filter(pk=pk)
    if asked_before is not None:
        due = due.filter(run_at__lt=asked_before)
    for candidate in due.values_list("pk", flat=True)[:CANDIDATES]:
        claimed = ReportRun.objects.filter(is_due, pk=candidate).update(
            state=WorkState.RUNNING, claimed_at=now, attempts=F("attempts") + 1, done_count=0, total_count=0
        )
        if claimed:
            return ReportRun.objects.select_related("customer", "site", "appliance__site", "run_by").get(
                pk=candidate
            )
    return None


def report_make(*, run: ReportRun) -> ReportRun:
    """Calculate and print a claimed run, and keep what came out; a fault is kept with the run and shown on its page."""
    if run.attempts > ATTEMPTS_MAX:
        return _fail(run, GIVEN_UP)
    try:
        report = report_type(run.kind)
        parameters = run_parameters(run)
        progress = run_progress(run)
        content = report.content(parameters, progress)
        document = report.document(content)
        pdf = print_content(report, content, parameters, progress)
    except Exception as error:
        logger.exception("Report run %s failed", run.pk)
        return _fail(run, f"{type(error).__name__}: {error}")
    return _keep(run, document, pdf)


def run_parameters(run: ReportRun) -> ReportParameters:
    """What a run was asked."""
    return ReportParameters(
        as_of=run.as_of,
        known_at=run.known_at,
        run_by=str(run.run_by),
        run_at=run.run_at,
        year=run.year,
        customer=run.customer,
        site=run.site,
        appliance=run.appliance,
        options=run.options,
    )


def kept_document(run: ReportRun) -> ReportDocument:
    """The figures of a run that is done."""
    return ReportDocument.from_json(json.loads(gzip.decompress(bytes(run.document or b""))))


@transaction.atomic
def _keep(run: ReportRun, document: ReportDocument, pdf: bytes) -> ReportRun:
    content: dict[str, Any] = document.as_json()
    run.document = gzip.compress(json.dumps(content, ensure_ascii=False).encode(), mtime=0)
    run.rulebook_version = run_parameters(run).rulebook
    run.pdf_sha256 = hashlib.sha256(pdf).hexdigest()
    run.state = WorkState.DONE
    # Before the file is written: a row that is refused takes no file along when the transaction is rolled back.
    run.full_clean(exclude=["pdf", "document"])
    run.pdf.save(f"{report_type(run.kind).slug}-{run.year}.pdf", ContentFile(pdf), save=False)
    run.save()
    return run


def _fail(run: ReportRun, failure: str) -> ReportRun:
    order_fail(run, failure)
    return run


def run_progress(run: ReportRun) -> Progress:
    """Write down how far a claimed run is, not oftener than anyone looks; each time its claim begins anew.

    A report of thousands of pages may take longer than a claim lasts.
    """
    began_at = next_at = time.monotonic()
    claimed_at = run.claimed_at

    def write(done: int, total: int) -> None:
        nonlocal next_at
        now = time.monotonic()
        if now >= next_at and claimed_at is not None:
            ReportRun.objects.filter(pk=run.pk).update(
                done_count=done, total_count=total, claimed_at=claimed_at + timedelta(seconds=now - began_at)
            )
            next_at = now + PROGRESS_EVERY_S

    return write
