"""Files a change of a facility's leak rate method, amends it and withdraws it: in one transaction, or nothing."""

import datetime
from dataclasses import dataclass, field
from uuid import UUID, uuid4

from django.utils import timezone

from compliance.rulebook.facts import LeakRateMethod
from compliance.rulebook.method_change import (
    CITATION,
    RECORD_CITATION,
    ProposedChange,
    method_change_objections,
)
from compliance.selectors.method_changes import facility_of, facility_snapshot
from compliance.services.facility_records import facility_record_once, facility_record_save
from jobs.errors import SubmissionRefused
from jobs.models import LeakRateMethodChange, Site
from jobs.selectors.method_changes import method_changes_standing, method_on
from jobs.services.amendments import in_place_of, standing_record
from jobs.services.entries import local_date
from jobs.services.refusals import Refusals
from portal.accounts.models import User

REQUIRED = {
    "acquired_from": "Expected from whom the facility was acquired.",
    "decided_by": "Expected who of the owner or operator decided it.",
}
# What a withdrawal says again of the change that it withdraws.
COPIED = (
    *("site", "happened_on", "former_method", "method", "acquired_on", "acquired_from"),
    *("is_owners_method", "decided_by", "facility"),
)


@dataclass(frozen=True)
class MethodChangeEntry:
    """All that is typed to change a facility's method.

    Attributes:
        method: the new one.
        happened_on: its first day, at the site.
        acquired_on: when the owner or operator acquired the facility,
        acquired_from: and from whom.
        is_owners_method: whether the new method is the one of the owner's other facilities.
        decided_by: who of the owner or operator decided it.
        note: what else a reader should know.
        submission_id: made by the form.
    """

    method: str
    happened_on: datetime.date
    acquired_on: datetime.date | None
    acquired_from: str
    is_owners_method: bool
    decided_by: str
    note: str = ""
    submission_id: UUID = field(default_factory=uuid4)


def method_change_file(
    *, by: User, site: Site, entry: MethodChangeEntry, filed_at: datetime.datetime | None = None
) -> LeakRateMethodChange:
    """File that a facility changed its leak rate method; the same entry sent twice is filed once.

    Args:
        by: who files.
        site: the facility.
        entry: all that was typed.
        filed_at: the instant that counts as now; now, unless given.

    Raises:
        SubmissionRefused: something is missing, or the conditions of 40 CFR 84.106(b)(3) aren't met; nothing is saved.
    """
    filed_at = filed_at or timezone.now()

    def file(locked: Site) -> LeakRateMethodChange:
        return _write(by, locked, entry, filed_at)

    return facility_record_once(LeakRateMethodChange, entry.submission_id, site, file)


def method_change_amend(
    *,
    by: User,
    change: LeakRateMethodChange,
    entry: MethodChangeEntry,
    reason: str,
    filed_at: datetime.datetime | None = None,
) -> LeakRateMethodChange:
    """File what a change should have said; the former record stays, superseded.

    Raises:
        SubmissionRefused: it doesn't stand any more, no reason is given, or the conditions aren't met without it.
    """
    filed_at = filed_at or timezone.now()

    def amend(locked: Site) -> LeakRateMethodChange:
        former = standing_record(change, reason, word="change")
        return _write(by, locked, entry, filed_at, former=former, reason=reason)

    return facility_record_once(LeakRateMethodChange, entry.submission_id, change.site, amend)


def method_change_withdraw(
    *,
    by: User,
    change: LeakRateMethodChange,
    reason: str,
    filed_at: datetime.datetime | None = None,
    submission_id: UUID | None = None,
) -> LeakRateMethodChange:
    """File that a change counts no more; it stays readable, and the former method holds as if it had never been filed.

    Raises:
        SubmissionRefused: it doesn't stand any more, no reason is given, or a later change rests on it.
    """
    filed_at = filed_at or timezone.now()
    submission_id = submission_id or uuid4()

    def withdraw(site: Site) -> LeakRateMethodChange:
        former = standing_record(change, reason, word="change")
        later = method_changes_standing().filter(site=site, happened_on__gt=former.happened_on).first()
        if later:
            refusals = Refusals()
            refusals.add("change", former, f"Expected one that nothing rests on. Withdraw {later} first.")
            refusals.raise_any()
        row = LeakRateMethodChange(
            **{name: getattr(former, name) for name in COPIED},
            submission_id=submission_id,
            is_void=True,
            **in_place_of(former, reason),
        )
        return facility_record_save(row, by=by, filed_at=filed_at)

    return facility_record_once(LeakRateMethodChange, submission_id, change.site, withdraw)


def _write(
    by: User,
    site: Site,
    entry: MethodChangeEntry,
    filed_at: datetime.datetime,
    *,
    former: LeakRateMethodChange | None = None,
    reason: str = "",
) -> LeakRateMethodChange:
    refusals = Refusals()
    today = local_date(site, filed_at)
    refusals.check_day("happened_on", entry.happened_on, latest=today)
    refusals.check_day("acquired_on", entry.acquired_on, latest=today)
    if entry.method not in tuple(LeakRateMethod):
        refusals.add("method", entry.method, "Expected one of the two methods.", CITATION)
    for name, expected in REQUIRED.items():
        if not getattr(entry, name).strip():
            refusals.add(name, "", expected, RECORD_CITATION)
    acquired_on = _checked(entry.acquired_on, refusals)
    facility, appliances = facility_of(site, entry.happened_on, without=former)
    method_before = method_on(site, entry.happened_on, without=former)
    proposed = ProposedChange(
        on=entry.happened_on,
        former=LeakRateMethod(method_before),
        method=LeakRateMethod(entry.method),
        acquired_on=acquired_on,
        is_owners_method=entry.is_owners_method,
    )
    for objection in method_change_objections(proposed, facility):
        refusals.add(objection.field, objection.value, objection.expected, objection.citation)
    refusals.raise_any()
    row = LeakRateMethodChange(
        submission_id=entry.submission_id,
        site=site,
        happened_on=entry.happened_on,
        former_method=method_before,
        method=entry.method,
        acquired_on=acquired_on,
        acquired_from=entry.acquired_from.strip(),
        is_owners_method=entry.is_owners_method,
        decided_by=entry.decided_by.strip(),
        facility=facility_snapshot(site, facility, appliances, entry.happened_on),
        note=entry.note.strip(),
        **in_place_of(former, reason),
    )
    return facility_record_save(row, by=by, filed_at=filed_at)


def _checked(acquired_on: datetime.date | None, refusals: Refusals) -> datetime.date:
    """The day of the acquisition, once nothing that was typed is wrong.

    Raises:
        SubmissionRefused: something is.
    """
    if acquired_on is None:
        expected = "Expected the day on which the facility was acquired: the method is kept otherwise."
        refusals.add("acquired_on", None, expected, CITATION)
        raise SubmissionRefused(refusals.found)
    refusals.raise_any()
    return acquired_on
