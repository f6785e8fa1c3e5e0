"""The tables of the law as people read them: each dated number with its source, and how sure it is."""

import datetime
from dataclasses import dataclass

from compliance.rulebook.refrigerants import find
from compliance.rulebook.tables import STATUSES, Row, Tables
from compliance.rulebook.unconfirmed import REFRIGERANTS, is_unconfirmed, unconfirmed
from compliance.selectors.fill_tables import FILLING, filling_numbers
from compliance.selectors.wording import RULES

# Practices of the same part that aren't about leaks; no obligation answers as this rule.
TABLES: dict[str, str] = {
    **{rule: name for rule, name in RULES.items() if rule != "us-federal"},
    "us-federal-608": "US federal, evacuation, certificates and disposal",
    "us-federal-cylinders": "US federal, heels, sales and reuse of refrigerant",
    "eu-certification": "European Union, who is certified for which work",
    "uk-certification": "Great Britain, who is certified for which work",
    "us-transport": "US federal, requalification, filling and transport of cylinders",
    FILLING: "How full a cylinder may be",
    REFRIGERANTS: "Refrigerants, what was not read in its source",
}


@dataclass(frozen=True)
class RowInWords:
    """One number for a page; ``is_as_of`` says that it was read on its first day, and may have held before."""

    name: str
    applies_to: str
    value: str
    effective_from: datetime.date
    effective_to: datetime.date | None
    citation: str
    status: str
    is_unconfirmed: bool
    note: str
    is_as_of: bool = False


@dataclass(frozen=True)
class RuleTable:
    """The rows of one rule, in the order of its file."""

    rule: str
    name: str
    rows: list[RowInWords]


def rule_tables(tables: Tables, *, rule: str = "", only_unconfirmed: bool = False) -> list[RuleTable]:
    """One table a rule; empty ones are left out.

    Args:
        tables: the dated numbers.
        rule: only this one, a key of ``TABLES``; all if empty.
        only_unconfirmed: leave out what was read in the source it cites.
    """
    chosen = [rule] if rule in TABLES else list(TABLES)
    found = []
    for name in chosen:
        rows = _rows(tables, name)
        shown = [row for row in rows if row.is_unconfirmed or not only_unconfirmed]
        if shown:
            found.append(RuleTable(name, TABLES[name], shown))
    return found


# Abbreviations in the keys of the rows, as they are said.
_SAID = {
    "ar4": "(AR4)",
    "ar5": "(AR5)",
    "ar6": "(AR6)",
    "gwp": "global warming potential",
    "mvac": "MVAC",
    "odp": "ozone depletion potential",
    "ods": "ozone-depleting refrigerant",
}


def _rows(tables: Tables, rule: str) -> list[RowInWords]:
    if rule == REFRIGERANTS:
        return _of_refrigerants()
    if rule == FILLING:
        return _of_filling()
    return [_in_words(row) for row in tables.rows if row.rule == rule]


def _of_refrigerants() -> list[RowInWords]:
    """Only what wasn't read: all properties of all refrigerants would be a page of their own."""
    return [
        RowInWords(
            name=_name(row.key),
            applies_to=row.applies_to,
            value=row.value,
            effective_from=find(row.applies_to).as_of,
            effective_to=None,
            citation=row.citation,
            status=row.status_in_words,
            is_unconfirmed=True,
            note=row.note,
            is_as_of=True,
        )
        for row in unconfirmed(Tables((), ""), sources=())
    ]


def _of_filling() -> list[RowInWords]:
    return [
        RowInWords(
            name=_name(row.key),
            applies_to=row.applies_to,
            value=row.value,
            effective_from=row.since,
            effective_to=None,
            citation=row.citation,
            status=STATUSES[row.status],
            is_unconfirmed=row.status != "C",
            note=row.note,
            is_as_of=row.is_as_of,
        )
        for row in filling_numbers()
    ]


def _name(key: str) -> str:
    name = " ".join(_SAID.get(word, word) for word in key.split("_"))
    return name[0].upper() + name[1:]


def _in_words(row: Row) -> RowInWords:
    is_read_in_part = row.status == "C" and is_unconfirmed(row)
    return RowInWords(
        name=_name(row.key),
        applies_to=row.applies_to,
        value=row.in_words,
        effective_from=row.effective_from,
        effective_to=row.effective_to,
        citation=row.citation,
        status="in part from memory" if is_read_in_part else STATUSES[row.status],
        is_unconfirmed=is_unconfirmed(row),
        note=row.note,
    )
