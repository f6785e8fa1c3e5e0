"""What an event is filed beside: the same visit filed before, and the record that an amendment takes the place of."""

from dataclasses import replace

from jobs.models import ServiceEvent
from jobs.selectors.amendments import newer_record
from jobs.selectors.events import event_line
from jobs.services.event_content import content_sha256
from jobs.services.refusals import Refusals
from jobs.services.submission import EventSubmission, LeakEntry


def filed_before(submission: EventSubmission) -> ServiceEvent | None:
    """The event that this submission, or the same visit under another submission, was filed as.

    Raises:
        SubmissionRefused: the submission was filed with other contents.
    """
    content = content_sha256(submission)
    first = ServiceEvent.objects.filter(submission_id=submission.submission_id).first()
    if first is not None:
        if first.content_sha256 != content or first.supersedes_id or not _has_logs_of(first, submission):
            _refuse_reused(submission, first)
        return first
    if submission.is_separate_visit:
        return None
    twins = ServiceEvent.objects.filter(
        appliance=submission.appliance,
        happened_on=submission.happened_on,
        content_sha256=content,
        supersedes=None,
    )
    first = next(
        (twin for twin in twins.order_by("pk") if not event_line(twin).filter(is_void=True).exists()), None
    )
    if first is not None:
        _check_no_log_is_lost(submission, first)
    return first


def amended_before(submission: EventSubmission, event: ServiceEvent) -> ServiceEvent | None:
    """The amendment of ``event`` that this submission was filed as.

    Raises:
        SubmissionRefused: the submission was filed as another record, or with other contents.
    """
    first = ServiceEvent.objects.filter(submission_id=submission.submission_id).first()
    if first is None:
        return None
    is_same = first.content_sha256 == content_sha256(submission) and _has_logs_of(first, submission)
    if first.supersedes_id != event.pk or not is_same:
        _refuse_reused(submission, first)
    return first


def standing_event(event: ServiceEvent, reason: str) -> ServiceEvent:
    """The event as it stands, read under the appliance's lock."""
    refusals = Refusals()
    current = ServiceEvent.objects.select_related("technician", "supervisor", "superseded_by").get(
        pk=event.pk
    )
    newer = newer_record(current)
    if newer is not None:
        refusals.add(
            "event", current, f"Expected the record that stands: this one was superseded by {newer}."
        )
    elif current.is_void:
        refusals.add("event", current, "Expected a record that is not void; file the visit anew instead.")
    if not reason.strip():
        refusals.add("reason", reason, "Expected why the record is amended.")
    refusals.raise_any()
    return current


def check_same_appliance(submission: EventSubmission, superseded: ServiceEvent) -> None:
    refusals = Refusals()
    if submission.appliance.pk != superseded.appliance_id:
        expected = (
            "Expected the appliance of the former record. Void that one, and file the visit on the right one."
        )
        refusals.add("appliance", submission.appliance, expected)
    refusals.raise_any()


def with_identities(submission: EventSubmission, superseded: ServiceEvent) -> EventSubmission:
    """Name the leaks that the former record found at the same part and place, and the submission finds again."""
    known = {entry.leak.pk for entry in submission.leaks_found if entry.leak}
    places = {
        (finding.part, finding.location): finding.leak
        for finding in superseded.leak_findings.select_related("leak")
        if finding.leak_id not in known
    }

    def named(entry: LeakEntry) -> LeakEntry:
        leak = entry.leak or places.pop((entry.part.strip(), entry.location.strip()), None)
        return replace(entry, leak=leak)

    return replace(submission, leaks_found=tuple(named(entry) for entry in submission.leaks_found))


def _has_logs_of(event: ServiceEvent, submission: EventSubmission) -> bool:
    """Whether an event was filed with just the logs of a submission."""
    filed = event.transfers.filter(weigh_log__is_added_later=False).values_list("position", "weigh_log__file")
    return dict(filed) == _logs(submission)


def _logs(submission: EventSubmission) -> dict[int, str]:
    return {place: row.log.sha256 for place, row in enumerate(submission.transfers) if row.log}


def _check_no_log_is_lost(submission: EventSubmission, first: ServiceEvent) -> None:
    """Refuse a visit that is on record if it brings a log that the record doesn't have.

    Filing it again would count the refrigerant twice, and answering with the record would lose the log.
    """
    kept = set(first.transfers.filter(weigh_log__isnull=False).values_list("weigh_log__file", flat=True))
    refusals = Refusals()
    for place, row in enumerate(submission.transfers):
        if row.log and row.log.sha256 not in kept:
            expected = f"This visit is on record as {first}, without this log. Add the log to that record."
            refusals.add(f"transfers-{place}-log", row.log.name, expected)
    refusals.raise_any()


def _refuse_reused(submission: EventSubmission, first: ServiceEvent) -> None:
    refusals = Refusals()
    expected = (
        f"This form was filed before as {first}, with other contents. To correct that record, amend it."
    )
    refusals.add("submission_id", submission.submission_id, expected)
    refusals.raise_any()
