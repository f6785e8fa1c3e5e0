"""The board as a document of one table, to be written as CSV or XLSX."""

import datetime

from compliance.models import Obligation
from compliance.selectors.board import BoardFilter, BoardState, board, days_left
from compliance.selectors.reports.document import Column, ColumnKind, ReportDocument, Row, Section, Table
from compliance.selectors.wording import kind_in_words, rule_in_words

COLUMNS = (
    Column("What is owed", width=26),
    Column("State", width=12),
    Column("Due", ColumnKind.DATE, 12),
    Column("Days left", ColumnKind.COUNT, 10),
    Column("Appliance", width=24),
    Column("Serial number", width=16),
    Column("Refrigerant", width=12),
    Column("Customer", width=26),
    Column("Site", width=22),
    Column("Who has it", width=20),
    Column("Opened", ColumnKind.DATE, 12),
    Column("Rule", width=34),
    Column("Citation", width=24),
    Column("Date confirmed in its source", width=14),
)


def board_document(wanted: BoardFilter, described: str, now: datetime.datetime) -> ReportDocument:
    """All of the board that is wanted, in its order.

    Args:
        wanted: what to write.
        described: the filter in words; empty where nothing is narrowed.
        now: the instant that decides where each obligation stands.
    """
    rows = tuple(_row(obligation) for obligation in board(wanted, now).iterator(chunk_size=1000))
    table = Table("Board", COLUMNS, rows, empty="Nothing is owed.")
    facts = (
        ("Made", f"{now.astimezone(datetime.UTC):%Y-%m-%d %H:%M} UTC"),
        ("Shows", described or "Everything that is owed now or later"),
        ("Obligations", str(len(rows))),
    )
    notes = ("Days left count to the due date in each site's own time zone; below zero it is overdue.",)
    return ReportDocument("Board", "", facts, (Section("Board", tables=(table,)),), notes)


def _row(obligation: Obligation) -> Row:
    appliance = obligation.appliance
    stands: str = obligation.stands  # type: ignore[attr-defined]  # an annotation
    holder: str | None = obligation.holder_name  # type: ignore[attr-defined]  # an annotation
    refrigerant: str = obligation.refrigerant_now  # type: ignore[attr-defined]  # an annotation
    return (
        kind_in_words(obligation.kind),
        BoardState(stands).label,
        obligation.due_on,
        days_left(obligation),
        appliance.name,
        appliance.serial_number,
        refrigerant,
        appliance.site.customer.name,
        appliance.site.name,
        holder or "Nobody named",
        obligation.opened_on,
        rule_in_words(obligation.rule),
        obligation.citation,
        "yes" if obligation.is_confirmed else "no",
    )
