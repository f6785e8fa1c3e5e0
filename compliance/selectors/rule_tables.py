"""The tables of the law as people read them: each dated number with its source, and how sure it is."""

import datetime
from dataclasses import dataclass

from compliance.rulebook.tables import STATUSES, Row, Tables
from compliance.rulebook.unconfirmed import is_unconfirmed
from compliance.selectors.wording import RULES

# Practices of the same part that aren't about leaks; no obligation answers as this rule.
TABLES: dict[str, str] = {
    **{rule: name for rule, name in RULES.items() if rule != "us-federal"},
    "us-federal-608": "US federal, evacuation, certificates and disposal",
    "us-federal-cylinders": "US federal, heels, sales and reuse of refrigerant",
    "eu-certification": "European Union, who is certified for which work",
    "uk-certification": "Great Britain, who is certified for which work",
    "us-transport": "US federal, requalification, filling and transport of cylinders",
}


@dataclass(frozen=True)
class RowInWords:
    """One number of the law for a page."""

    name: str
    applies_to: str
    value: str
    effective_from: datetime.date
    effective_to: datetime.date | None
    citation: str
    status: str
    is_unconfirmed: bool
    note: str


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
        rows = [row for row in tables.rows if row.rule == name]
        shown = [_in_words(row) for row in rows if is_unconfirmed(row) or not only_unconfirmed]
        if shown:
            found.append(RuleTable(name, TABLES[name], shown))
    return found


# Abbreviations in the keys of the rows, as they are said.
_SAID = {"gwp": "global warming potential", "mvac": "MVAC", "ods": "ozone-depleting refrigerant"}


def _in_words(row: Row) -> RowInWords:
    name = " ".join(_SAID.get(word, word) for word in row.key.split("_"))
    is_read_in_part = row.status == "C" and is_unconfirmed(row)
    return RowInWords(
        name=name[0].upper() + name[1:],
        applies_to=row.applies_to,
        value=row.in_words,
        effective_from=row.effective_from,
        effective_to=row.effective_to,
        citation=row.citation,
        status="in part from memory" if is_read_in_part else STATUSES[row.status],
        is_unconfirmed=is_unconfirmed(row),
        note=row.note,
    )
