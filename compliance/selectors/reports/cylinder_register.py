"""The register of cylinders as it stood on a day: requalification, place, contents."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q

from compliance.rulebook.requalification import requalification_due_on
from compliance.selectors.reports.document import Column, ColumnKind, ReportDocument, Row, Section, Table
from compliance.selectors.reports.ledger_years import cylinders_hold, transfers_known
from compliance.selectors.reports.masses import kilograms, pounds
from compliance.selectors.reports.parameters import Progress, ReportParameters
from jobs.models import (
    Cylinder,
    CylinderKind,
    CylinderMove,
    MoveReason,
    RequalificationResult,
    RequalificationTest,
)
from jobs.models.cylinder_records import place_in_words
from jobs.selectors.cylinder_state import requalification_status
from jobs.selectors.history import as_known
from jobs.selectors.requalification import CylinderTests, condemned, standing_tests

COLUMNS = (
    Column("Serial number", width=14),
    Column("Kind", width=30),
    Column("Specification", width=14),
    Column("Water capacity (lb)", ColumnKind.MASS, width=12),
    Column("Tare (lb)", ColumnKind.MASS, width=12),
    Column("Last requalified", ColumnKind.DATE, width=12),
    Column("Period (years)", ColumnKind.COUNT, width=8),
    Column("Due on", ColumnKind.DATE, width=12),
    Column("Requalification", width=14),
    Column("Where", width=20),
    Column("Refrigerant", width=14),
    Column("Holds (lb)", ColumnKind.MASS, width=12),
    Column("Holds (kg)", ColumnKind.MASS, width=12),
)
STATUS_IN_WORDS = {
    "": "no test date on record",
    "met": "in date",
    "due_soon": "due soon",
    "overdue": "run out: not to be filled",
    "condemned": "condemned: not to be filled",
}
DISPOSABLE = "none: never filled again"
RETIRED = "out of use"
ABOUT = (
    "A cylinder whose requalification has run out is not filled; what is in it may be used (49 CFR 180.205(c)). A "
    "disposable one is neither requalified nor filled again (49 CFR 178.65)."
)


@dataclass(frozen=True)
class _Life:
    """What records say of a cylinder on the day, beside its register and the books."""

    passed_on: tuple[date, ...] = ()
    stamped_on: date | None = None
    is_condemned: bool = False
    is_retired: bool = False
    place: tuple[str, str] | None = None


def cylinder_register(parameters: ReportParameters, progress: Progress) -> ReportDocument:
    """List every cylinder as it stood on the day, as known at the instant.

    Source: 49 CFR 180.205(c), 180.209 (requalification before it is filled again); 178.65 (disposable ones).
    """
    holds = cylinders_hold(transfers_known(parameters.known_at), parameters.as_of)
    cylinders = sorted(as_known(Cylinder, parameters.known_at), key=lambda cylinder: cylinder.serial_number)
    lives = _lives([cylinder.pk for cylinder in cylinders], parameters.as_of, parameters.known_at)
    rows = tuple(
        _row(cylinder, holds[cylinder.pk], lives.get(cylinder.pk, _Life()), parameters.as_of)
        for cylinder in cylinders
    )
    table = Table("Cylinders", COLUMNS, rows, empty="No cylinder is registered.")
    return ReportDocument(
        title="Cylinder register",
        whose="The firm",
        facts=parameters.facts_of_firm,
        sections=(Section("Cylinders", (ABOUT,), (table,)),),
        notes=("The markings on the cylinder itself govern.",),
    )


def _lives(ids: list[int], on: date, known_at: datetime) -> dict[int, _Life]:
    void = condemned(ids, on=on, known_at=known_at)
    tests: defaultdict[int, list[RequalificationTest]] = defaultdict(list)
    for test in standing_tests(known_at).order_by("pk"):
        tests[test.cylinder_id].append(test)
    moves: defaultdict[int, list[CylinderMove]] = defaultdict(list)
    standing = CylinderMove.objects.filter(filed_at__lte=known_at).exclude(
        Q(withdrawal__filed_at__lte=known_at)
    )
    for move in standing.order_by("happened_on", "pk"):
        moves[move.cylinder_id].append(move)
    return {
        pk: _Life(
            passed_on=tuple(
                row.happened_on for row in tests[pk] if row.result == RequalificationResult.PASSED
            ),
            stamped_on=tests[pk][-1].former_requalified_on if tests[pk] else None,
            is_condemned=pk in void,
            is_retired=any(row.reason == MoveReason.RETIRED and row.happened_on <= on for row in moves[pk]),
            place=_place_on(moves[pk], on),
        )
        for pk in ids
    }


def _place_on(moves: Iterable[CylinderMove], on: date) -> tuple[str, str] | None:
    """Where the moves leave it on the day: where the last one took it, or where the next one took it from."""
    place = None
    for move in moves:
        if move.happened_on > on:
            return place or (move.from_place, move.from_place_note)
        place = (move.place, move.place_note)
    return place


def _row(cylinder: Cylinder, contents: dict[str, int], life: _Life, as_of: date) -> Row:
    tested_on, due_on, period = _requalification(cylinder, life, as_of)
    held = {name: mass_mg for name, mass_mg in sorted(contents.items()) if mass_mg}
    return (
        cylinder.serial_number,
        cylinder.get_kind_display(),
        cylinder.specification,
        pounds(cylinder.water_capacity_mg),
        pounds(cylinder.tare_mg),
        tested_on,
        period,
        due_on,
        _status(cylinder, life, due_on, as_of),
        place_in_words(*(life.place or (cylinder.place, cylinder.place_note))),
        " and ".join(held) or cylinder.refrigerant,
        pounds(sum(held.values())),
        kilograms(sum(held.values())),
    )


def _requalification(
    cylinder: Cylinder, life: _Life, as_of: date
) -> tuple[date | None, date | None, int | None]:
    """Last test known by the day, when the next is due, and the period; nothing of a disposable cylinder."""
    if cylinder.kind == CylinderKind.DISPOSABLE:
        return None, None, None
    period = cylinder.requalification_period_years
    # The register's own date follows the newest test, which may be of a later day than is asked about.
    stamped_on = life.stamped_on if life.passed_on else cylinder.requalified_on
    tested_on = CylinderTests(life.passed_on, None, stamped_on).requalified_on(as_of)
    due_on = requalification_due_on(tested_on, period) if tested_on else None
    return tested_on, due_on, period


def _status(cylinder: Cylinder, life: _Life, due_on: date | None, as_of: date) -> str:
    if life.is_retired:
        return RETIRED
    if cylinder.kind == CylinderKind.DISPOSABLE:
        return DISPOSABLE
    return STATUS_IN_WORDS[requalification_status(due_on, today=as_of, is_condemned=life.is_condemned)]
