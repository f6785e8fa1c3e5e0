"""Everything the rulebook holds that wasn't read in the law itself: what to look up before relying on it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from compliance.rulebook.refrigerants import Refrigerant, all_refrigerants
from compliance.rulebook.tables import STATUSES, Row, Tables

REFRIGERANTS = "refrigerants"
CODE = "code"
MARK = "# UNCONFIRMED:"

_RULEBOOK = Path(__file__).resolve().parent


@dataclass(frozen=True)
class Unconfirmed:
    """One datum that rests on memory, a secondary source or an interpretation.

    ``rule`` is the rule of a table's row, ``refrigerants`` or ``code``; ``applies_to`` the category, charge or
    refrigerant it is for; ``status`` a key of ``tables.STATUSES``.
    """

    rule: str
    key: str
    applies_to: str
    value: str
    citation: str
    status: str
    note: str

    @property
    def status_in_words(self) -> str:
        return STATUSES[self.status]


def unconfirmed(tables: Tables, sources: Sequence[Path] = (_RULEBOOK,)) -> list[Unconfirmed]:
    """Rows of the tables first, in their order, then refrigerants, then what the code itself marks.

    Args:
        tables: the dated numbers of the law.
        sources: directories whose modules are searched for comments that begin with ``MARK``.
    """
    rows = [_of_row(row) for row in tables.rows if is_unconfirmed(row)]
    refrigerants = [found for refrigerant in all_refrigerants() for found in _of_refrigerant(refrigerant)]
    marked = [
        found for source in sources for path in sorted(source.rglob("*.py")) for found in _of_code(path)
    ]
    return [*rows, *refrigerants, *marked]


def is_unconfirmed(row: Row) -> bool:
    """Whether any part of a row wasn't read in the source it cites; its note says which part, where it isn't all."""
    return row.status != "C" or "from memory" in row.note


def _of_row(row: Row) -> Unconfirmed:
    status = "M" if row.status == "C" else row.status
    return Unconfirmed(row.rule, row.key, row.applies_to, row.in_words, row.citation, status, row.note)


def _of_refrigerant(refrigerant: Refrigerant) -> Iterator[Unconfirmed]:
    name, source = refrigerant.designation, refrigerant.notes
    if not refrigerant.is_safety_class_confirmed:
        citation = "ASHRAE Standard 34"
        yield Unconfirmed(REFRIGERANTS, "safety_class", name, refrigerant.safety_class, citation, "M", "")
    if not refrigerant.is_pressure_class_confirmed:
        note = refrigerant.pressure_class_source
        value, citation = refrigerant.pressure_class, "40 CFR 82.152"
        yield Unconfirmed(REFRIGERANTS, "pressure_class", name, value, citation, "I", note)
    parts = " ".join(f"{component} {mass_pct} %" for component, mass_pct in refrigerant.composition)
    for key, value, citation in (
        ("composition", parts, "ASHRAE Standard 34"),
        ("gwp_ar4", str(refrigerant.gwp_ar4), "IPCC Fourth Assessment Report"),
        ("gwp_ar5", str(refrigerant.gwp_ar5), "IPCC Fifth Assessment Report"),
        ("gwp_ar6", str(refrigerant.gwp_ar6), "IPCC Sixth Assessment Report"),
        ("odp", str(refrigerant.odp), "Regulation (EU) 2024/590 Annexes I and II"),
    ):
        if key in refrigerant.from_memory:
            yield Unconfirmed(REFRIGERANTS, key, name, value, citation, "M", source)


def _of_code(path: Path) -> Iterator[Unconfirmed]:
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        _, mark, words = line.partition(MARK)
        if mark and not line.startswith("MARK"):
            yield Unconfirmed(CODE, path.stem, f"line {number}", "", "", "M", words.strip())
