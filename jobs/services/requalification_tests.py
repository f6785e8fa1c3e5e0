"""Files that a cylinder was tested; the register's test date follows the newest test that it passed."""

from dataclasses import dataclass
from typing import Unpack

from compliance.rulebook.requalification import least_test_pressure
from jobs.models import (
    Cylinder,
    CylinderKind,
    RequalificationMethod,
    RequalificationResult,
    RequalificationTest,
)
from jobs.selectors.requalification import standing_tests, tests_of
from jobs.services.cylinder_books import CylinderBook
from jobs.services.cylinder_records import RecordFields, RecordPaper, record_file
from jobs.services.refusals import Refusals
from portal.accounts.models import User

REQUALIFIER_RULE = "49 CFR 180.205(b)"


@dataclass(frozen=True)
class RequalificationEntry:
    """What is typed of a test; ``identification_number`` is the requalifier's RIN, ``reason`` why it was condemned."""

    method: str
    result: str
    requalifier: str
    identification_number: str
    test_pressure_psi: int | None = None
    document_number: str = ""
    reason: str = ""


def requalification_test_record(
    *, by: User, cylinder: Cylinder, entry: RequalificationEntry, **fields: Unpack[RecordFields]
) -> RequalificationTest:
    """File a cylinder's requalification, or that it was condemned.

    Args:
        by: who files.
        cylinder: what was tested.
        entry: how, by whom and with what result.
        fields: happened_on (the day of the test), and if known note, submission_id, filed_at.

    Raises:
        SubmissionRefused: a disposable cylinder, one that was condemned before, nobody who may test, too low a
            pressure, or no reason for condemning it.
    """
    paper = RecordPaper(by, cylinder, **fields)

    def build(refusals: Refusals, book: CylinderBook) -> RequalificationTest:
        _check_cylinder(refusals, book, paper)
        _check_entry(refusals, book.cylinder, paper, entry)
        return RequalificationTest(
            method=entry.method,
            result=entry.result,
            requalifier=entry.requalifier.strip(),
            identification_number=entry.identification_number.strip().upper(),
            test_pressure_psi=entry.test_pressure_psi,
            document_number=entry.document_number.strip(),
            reason=entry.reason.strip(),
            former_requalified_on=tests_of(book.cylinder).registered_on,
        )

    return record_file(
        RequalificationTest,
        paper,
        build,
        follow=lambda test: cylinder_keep_test_date(by=by, cylinder=test.cylinder),
    )


def cylinder_keep_test_date(*, by: User, cylinder: Cylinder) -> None:
    """Let the register show the newest standing test that the cylinder passed, or the date before all of them."""
    newest = RequalificationTest.objects.filter(cylinder=cylinder).order_by("pk").last()
    if newest is None:
        return
    passed = standing_tests().filter(cylinder=cylinder, result=RequalificationResult.PASSED)
    days = [*passed.values_list("happened_on", flat=True), newest.former_requalified_on]
    requalified_on = max((day for day in days if day), default=None)
    if cylinder.requalified_on != requalified_on:
        cylinder.requalified_on = requalified_on
        # simple_history takes it from here where no request is at hand.
        cylinder._history_user = by  # type: ignore[attr-defined]  # noqa: SLF001
        cylinder.save()


def _check_cylinder(refusals: Refusals, book: CylinderBook, paper: RecordPaper) -> None:
    cylinder = book.cylinder
    if cylinder.kind == CylinderKind.DISPOSABLE:
        refusals.add(
            "cylinder", cylinder, "Expected a refillable cylinder: a disposable one is never tested again."
        )
    # The form that condemned it may come twice.
    before = standing_tests().filter(cylinder=cylinder, result=RequalificationResult.CONDEMNED)
    if first := before.exclude(submission_id=paper.submission_id).first():
        expected = f"It was condemned on {first.happened_on}. Withdraw that record if it is wrong."
        refusals.add("cylinder", cylinder, expected)


def _check_entry(
    refusals: Refusals, cylinder: Cylinder, paper: RecordPaper, entry: RequalificationEntry
) -> None:
    if entry.method not in RequalificationMethod.values:
        refusals.add("method", entry.method, "Expected how it was tested.", "49 CFR 180.209")
    if entry.result not in RequalificationResult.values:
        refusals.add("result", entry.result, "Expected whether it passed or was condemned.")
    if not entry.requalifier.strip():
        refusals.add("requalifier", "", "Expected the firm that tested it.", REQUALIFIER_RULE)
    if not entry.identification_number.strip():
        expected = "Expected the requalifier's identification number (RIN), as stamped or on its report."
        refusals.add("identification_number", "", expected, REQUALIFIER_RULE)
    if entry.result == RequalificationResult.CONDEMNED and not entry.reason.strip():
        refusals.add("reason", "", "Expected why it was condemned.")
    least = least_test_pressure(cylinder.specification, on=paper.happened_on)
    is_pressed = entry.method != RequalificationMethod.EXTERNAL_VISUAL
    if least and is_pressed and entry.test_pressure_psi is not None and entry.test_pressure_psi < least[0]:
        expected = (
            f"Expected {least[0]} psig or more: twice the service pressure of {cylinder.specification}. Leave it empty "
            "if the report doesn't say."
        )
        refusals.add("test_pressure_psi", entry.test_pressure_psi, expected, least[1])
