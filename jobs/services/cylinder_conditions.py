"""Files what limits a cylinder's use: that it is mixed or contaminated, and the period in which it is requalified."""

from collections.abc import Sequence
from typing import Unpack

from compliance.rulebook.requalification import allowed_periods
from jobs.models import Contamination, Cylinder, CylinderKind, RequalificationPeriod
from jobs.services.cylinder_books import CylinderBook
from jobs.services.cylinder_records import RecordFields, RecordPaper, record_file
from jobs.services.refusals import Refusals, known_designation
from portal.accounts.models import User


def contamination_record(
    *,
    by: User,
    cylinder: Cylinder,
    refrigerants: Sequence[str],
    finding: str,
    **fields: Unpack[RecordFields],
) -> Contamination:
    """Mark a cylinder as mixed or contaminated until it is emptied; nothing of it is used again.

    Args:
        by: who files.
        cylinder: what is marked.
        refrigerants: designations that are or may be in it, as far as known.
        finding: what was found, and how.
        fields: happened_on, and if known note, submission_id, filed_at.

    Raises:
        SubmissionRefused: a refrigerant is in no table, or nothing says what was found.
    """
    paper = RecordPaper(by, cylinder, **fields)

    def build(refusals: Refusals, book: CylinderBook) -> Contamination:
        names = {known_designation(refusals, "refrigerants", name) for name in refrigerants}
        if not finding.strip():
            refusals.add("finding", finding, "Expected what was found, and how.")
        if book.cylinder.kind == CylinderKind.DISPOSABLE and len(names) > 1:
            expected = "A disposable cylinder takes one refrigerant from its supplier and no other."
            refusals.add("refrigerants", " and ".join(sorted(names)), expected, "49 CFR 178.65")
        return Contamination(refrigerants=sorted(names), finding=finding.strip())

    return record_file(Contamination, paper, build)


def requalification_period_record(
    *, by: User, cylinder: Cylinder, years: int, reason: str, **fields: Unpack[RecordFields]
) -> RequalificationPeriod:
    """Record the compliance officer's decision on a cylinder's requalification period, and why.

    Args:
        by: the officer.
        cylinder: what it holds for.
        years: one of those listed for the cylinder's specification.
        reason: why that period may be used.
        fields: happened_on, and if known note, submission_id, filed_at.

    Raises:
        SubmissionRefused: the specification has no such period, or no reason is given.
    """
    paper = RecordPaper(by, cylinder, **fields)

    def build(refusals: Refusals, book: CylinderBook) -> RequalificationPeriod:
        periods = allowed_periods(book.cylinder.specification, on=paper.happened_on)
        if years not in periods.years:
            expected = f"Expected {periods.in_words} years for {book.cylinder.specification}."
            refusals.add("years", years, expected, periods.citation)
        if not reason.strip():
            refusals.add("reason", reason, "Expected why this period may be used.")
        return RequalificationPeriod(years=years, reason=reason.strip())

    def follow(record: RequalificationPeriod) -> None:
        record.cylinder.requalification_period_years = record.years
        # simple_history takes it from here where no request is at hand.
        record.cylinder._history_user = by  # type: ignore[attr-defined]  # noqa: SLF001
        record.cylinder.save()

    return record_file(RequalificationPeriod, paper, build, follow=follow)
