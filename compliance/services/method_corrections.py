"""Files that the register named the wrong leak rate method of a facility, amends and withdraws that: all or nothing.

It is no change of the method (40 CFR 84.106(b)(3)): the facility went by the right one from the beginning, and only the
register's entry was mistaken. That entry follows the record, its former value stays in the register's history, and the
leak rates of all appliances are reckoned anew from the first on.
"""

import datetime
from dataclasses import dataclass, field
from uuid import UUID, uuid4

from django.utils import timezone

from compliance.rulebook.method_change import CITATION
from compliance.rulebook.rules import US_FEDERAL_HFC, US_FEDERAL_ODS
from compliance.selectors.method_changes import facility_described, facility_snapshot
from compliance.services.facility_records import facility_record_once, facility_record_save
from jobs.models import LeakRateMethod, LeakRateMethodCorrection, Site
from jobs.selectors.method_changes import (
    is_method_fixed,
    method_changes_standing,
    method_corrections_standing,
)
from jobs.services.amendments import in_place_of, standing_record
from jobs.services.entries import local_date
from jobs.services.refusals import Refusals
from portal.accounts.models import User

REQUIRED = {
    "mistake": "Expected how the register came to name the wrong method.",
    "shown_by": "Expected what shows that the facility used the right one from the beginning.",
}


@dataclass(frozen=True)
class MethodCorrectionEntry:
    """All that is typed to correct the method in the register.

    Attributes:
        method: the right one.
        mistake: how the wrong one came into the register.
        shown_by: what shows the right one, such as calculations of that time.
        is_mistake: the statement that the facility used the right one from the beginning.
        note: what else a reader should know.
        submission_id: made by the form.
    """

    method: str
    mistake: str
    shown_by: str
    is_mistake: bool
    note: str = ""
    submission_id: UUID = field(default_factory=uuid4)


def method_correction_file(
    *, by: User, site: Site, entry: MethodCorrectionEntry, filed_at: datetime.datetime | None = None
) -> LeakRateMethodCorrection:
    """File that the register named the wrong method, and put it right; the same entry sent twice is filed once.

    Args:
        by: who files.
        site: the facility.
        entry: all that was typed.
        filed_at: the instant that counts as now; now, unless given.

    Raises:
        SubmissionRefused: something is missing, the register names that method, its entry isn't fixed yet, or another
            record about the method stands; nothing is saved.
    """
    filed_at = filed_at or timezone.now()

    def file(locked: Site) -> LeakRateMethodCorrection:
        return _write(by, locked, entry, filed_at)

    return facility_record_once(LeakRateMethodCorrection, entry.submission_id, site, file)


def method_correction_amend(
    *,
    by: User,
    correction: LeakRateMethodCorrection,
    entry: MethodCorrectionEntry,
    reason: str,
    filed_at: datetime.datetime | None = None,
) -> LeakRateMethodCorrection:
    """File what a correction should have said; the former record stays, superseded, and the method is the same.

    Raises:
        SubmissionRefused: it doesn't stand any more, no reason is given, something is missing, or it names the other
            method.
    """
    filed_at = filed_at or timezone.now()

    def amend(locked: Site) -> LeakRateMethodCorrection:
        former = standing_record(correction, reason, word="correction")
        return _write(by, locked, entry, filed_at, former=former, reason=reason)

    return facility_record_once(LeakRateMethodCorrection, entry.submission_id, correction.site, amend)


def method_correction_withdraw(
    *,
    by: User,
    correction: LeakRateMethodCorrection,
    reason: str,
    filed_at: datetime.datetime | None = None,
    submission_id: UUID | None = None,
) -> LeakRateMethodCorrection:
    """File that a correction counts no more; it stays readable, and the register names the former method again.

    Raises:
        SubmissionRefused: it doesn't stand any more, no reason is given, or a change of the method rests on it.
    """
    filed_at = filed_at or timezone.now()
    submission_id = submission_id or uuid4()

    def withdraw(site: Site) -> LeakRateMethodCorrection:
        former = standing_record(correction, reason, word="correction")
        if change := method_changes_standing().filter(site=site).first():
            refusals = Refusals()
            expected = f"Expected one that nothing rests on. Withdraw {change} first."
            refusals.add("correction", former, expected)
            refusals.raise_any()
        row = LeakRateMethodCorrection(
            submission_id=submission_id,
            site=site,
            happened_on=former.happened_on,
            former_method=former.former_method,
            method=former.method,
            mistake=former.mistake,
            shown_by=former.shown_by,
            facility=_snapshot(site, filed_at),
            is_void=True,
            **in_place_of(former, reason),
        )
        return _save(row, by, filed_at, method=former.former_method)

    return facility_record_once(LeakRateMethodCorrection, submission_id, correction.site, withdraw)


def _write(
    by: User,
    site: Site,
    entry: MethodCorrectionEntry,
    filed_at: datetime.datetime,
    *,
    former: LeakRateMethodCorrection | None = None,
    reason: str = "",
) -> LeakRateMethodCorrection:
    refusals = Refusals()
    _check_entry(entry, refusals)
    if former is None:
        _check_site(site, entry, refusals)
    elif entry.method != former.method:
        expected = f"Expected the method that {former} names. If the register was right before, withdraw it."
        refusals.add("method", entry.method, expected)
    refusals.raise_any()
    row = LeakRateMethodCorrection(
        submission_id=entry.submission_id,
        site=site,
        happened_on=former.happened_on if former else local_date(site, filed_at),
        former_method=former.former_method if former else site.leak_rate_method,
        method=entry.method,
        mistake=entry.mistake.strip(),
        shown_by=entry.shown_by.strip(),
        facility=_snapshot(site, filed_at),
        note=entry.note.strip(),
        **in_place_of(former, reason),
    )
    return _save(row, by, filed_at, method=row.method)


def _check_entry(entry: MethodCorrectionEntry, refusals: Refusals) -> None:
    if entry.method not in tuple(LeakRateMethod):
        refusals.add("method", entry.method, "Expected one of the two methods.")
    for name, expected in REQUIRED.items():
        if not getattr(entry, name).strip():
            refusals.add(name, "", expected)
    if not entry.is_mistake:
        expected = (
            "Expected that only the register’s entry was mistaken. A facility that used the other method keeps it, "
            "and changes it only after it was acquired; that is a record of its own."
        )
        refusals.add("is_mistake", None, expected, CITATION)


def _check_site(site: Site, entry: MethodCorrectionEntry, refusals: Refusals) -> None:
    if entry.method == site.leak_rate_method:
        refusals.add(
            "method", entry.method, "Expected the other method: the register names this one already."
        )
    if not is_method_fixed(site):
        expected = (
            "Expected a site in the United States to whose appliances refrigerant was added on a visit. Before that, "
            "and elsewhere, the entry is changed on the site’s own form."
        )
        refusals.add("method", entry.method, expected)
    if change := method_changes_standing().filter(site=site).first():
        expected = (
            f"Expected a site whose method was never changed: {change} names the "
            f"{change.get_former_method_display().lower()} as the former one. Withdraw it first."
        )
        refusals.add("method", entry.method, expected)
    if correction := method_corrections_standing().filter(site=site).first():
        expected = (
            f"Expected an entry that wasn’t corrected before. If {correction} is mistaken, withdraw it."
        )
        refusals.add("method", entry.method, expected)


def _snapshot(site: Site, filed_at: datetime.datetime) -> dict:
    """The facility with the newest rates of its appliances by either method, under either federal section."""
    facility, appliances = facility_described(site)
    on = local_date(site, filed_at)
    return facility_snapshot(site, facility, appliances, on, among=(US_FEDERAL_ODS, US_FEDERAL_HFC))


def _save(
    row: LeakRateMethodCorrection, by: User, filed_at: datetime.datetime, *, method: str
) -> LeakRateMethodCorrection:
    """Let the register name the method, then save the record and assess the site's appliances anew."""
    site = row.site
    if site.leak_rate_method != method:
        site.leak_rate_method = method
        # simple_history takes it from here where no request is at hand.
        site._history_user = by  # type: ignore[attr-defined]  # noqa: SLF001
        site.save()
    return facility_record_save(row, by=by, filed_at=filed_at)
