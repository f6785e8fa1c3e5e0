"""The law's numbers: dated rows of fixtures/rules/*.toml, looked up by rule, key, category, charge and day."""

import hashlib
import tomllib
from bisect import bisect_right
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cache, cached_property
from math import ceil
from pathlib import Path
from typing import Any

from compliance.rulebook import policy
from compliance.rulebook.dates import add_days, parse_date
from compliance.rulebook.masses import exact_mg

RULES_DIRECTORY = Path(__file__).resolve().parents[2] / "fixtures" / "rules"

STATUSES = {
    "C": "read in the source cited",
    "2": "read in a secondary source only",
    "M": "from memory, unconfirmed",
    "I": "interpretation",
}

# What a value of these kinds says by itself.
_WITHOUT_UNIT = frozenset({"appliance_class", "date", "designation", "month_and_day", "refrigerant", "text"})
_UNITS_IN_WORDS = {
    "percent": "%",
    "tCO2e": "t CO2e",
    "gwp": "global warming potential",
    "gwp_ar4": "global warming potential (AR4)",
    "inHg": "in Hg",
    "inHg_vacuum": "in Hg vacuum",
    "mmHg_absolute": "mm Hg absolute",
    "mmHg_vacuum": "mm Hg vacuum",
}

_REQUIRED = ("rule", "key", "value", "unit", "effective_from", "citation", "status")
_OPTIONAL = ("category", "charge_least", "charge_below", "effective_to", "note")


class TableError(Exception):
    """The tables themselves are wrong or lack a row that a rule needs: a fault of the data, never of the input."""


@dataclass(frozen=True)
class Row:
    """One number of the law, as printed, with the days it is in force and where it is written.

    ``effective_from`` is the first day in force, ``effective_to`` the last (``None``: still in force);
    ``charge_least_mg`` is inclusive, ``charge_below_mg`` exclusive; both are exact, not rounded to the milligram.
    """

    rule: str
    key: str
    value: str
    unit: str
    effective_from: date
    effective_to: date | None
    citation: str
    status: str
    category: str | None = None
    charge_least_mg: Fraction | None = None
    charge_below_mg: Fraction | None = None
    note: str = ""

    @property
    def is_confirmed(self) -> bool:
        """Whether the number was read in a source, and isn't recalled from memory."""
        return self.status != "M"

    @property
    def name(self) -> str:
        """Where the number stands and which one it is, so that it can be looked up."""
        return f"{self.citation} ({self.key.replace('_', ' ')})"

    @cached_property
    def number(self) -> Decimal:
        return Decimal(self.value)

    @cached_property
    def count(self) -> int:
        """The value of a row that counts days, months, quarters or years."""
        return int(self.value)

    @property
    def day(self) -> date:
        return parse_date(self.value, f"{self.rule} {self.key}")

    @cached_property
    def part(self) -> Fraction:
        """The part of one that a row in percent says."""
        return Fraction(self.number) / 100

    @cached_property
    def exact_mg(self) -> Fraction:
        return exact_mg(self.number, self.unit)

    @cached_property
    def in_words(self) -> str:
        """The value with its unit, in the singular for one: 30 days, 1 year, 15 lb, 10 %; alone where it has none."""
        if self.unit in _WITHOUT_UNIT:
            return self.value
        if self.unit in _UNITS_IN_WORDS:
            return f"{self.value} {_UNITS_IN_WORDS[self.unit]}"
        return f"{self.value} {self.unit.removesuffix('s') if self.value == '1' else self.unit}"

    @property
    def applies_to(self) -> str:
        """The category and full charges the row is meant for, in words; empty where it is meant for all."""
        parts = [] if self.category is None else [self.category.replace("_", " ")]
        if self.charge_least_mg is not None:
            parts.append(f"from {_pounds(self.charge_least_mg)}")
        if self.charge_below_mg is not None:
            parts.append(f"below {_pounds(self.charge_below_mg)}")
        return ", ".join(parts)

    def holds(self, *, on: date, category: str | None, full_charge_mg: int | None) -> bool:
        """Whether the row is in force on that day and is meant for that category and full charge.

        A charge reaches a band's lower bound when it is within one milligram of it (``policy.RESOLUTION``).
        """
        if on < self.effective_from or (self.effective_to is not None and on > self.effective_to):
            return False
        if self.category is not None and self.category != category:
            return False
        least_mg, below_mg = self._charges_mg
        if least_mg is not None and (full_charge_mg is None or full_charge_mg < least_mg):
            return False
        return below_mg is None or (full_charge_mg is not None and full_charge_mg < below_mg)

    @cached_property
    def _charges_mg(self) -> tuple[int | None, int | None]:
        """The band in whole milligrams: its first charge, and the first above it."""
        least_mg, below_mg = (
            None if bound_mg is None else ceil(bound_mg - policy.RESOLUTION.value)
            for bound_mg in (self.charge_least_mg, self.charge_below_mg)
        )
        return least_mg, below_mg


@dataclass(frozen=True)
class Tables:
    """All rows, with a version: the hash of every table file's content."""

    rows: tuple[Row, ...]
    version: str

    @cached_property
    def _by_key(self) -> dict[tuple[str, str], list[Row]]:
        index: dict[tuple[str, str], list[Row]] = {}
        for row in self.rows:
            index.setdefault((row.rule, row.key), []).append(row)
        return index

    @cached_property
    def _editions(self) -> dict[str, list[date]]:
        """The days on which a row of each rule comes into force or has ceased to be, in order."""
        days: dict[str, set[date]] = {}
        for row in self.rows:
            of_rule = days.setdefault(row.rule, set())
            of_rule.add(row.effective_from)
            if row.effective_to is not None:
                of_rule.add(add_days(row.effective_to, 1))
        return {rule: sorted(of_rule) for rule, of_rule in days.items()}

    def find(
        self, rule: str, key: str, *, on: date, category: str | None = None, full_charge_mg: int | None = None
    ) -> Row | None:
        """The one row in force, or ``None``.

        Raises:
            TableError: two rows claim the same case.
        """
        candidates = self._by_key.get((rule, key), ())
        rows = [
            row for row in candidates if row.holds(on=on, category=category, full_charge_mg=full_charge_mg)
        ]
        if len(rows) > 1:
            raise TableError(f"{len(rows)} rows for {rule} {key} on {on}, {category}, {full_charge_mg} mg")
        return rows[0] if rows else None

    def row(
        self, rule: str, key: str, *, on: date, category: str | None = None, full_charge_mg: int | None = None
    ) -> Row:
        """The one row in force.

        Raises:
            TableError: no row, or two.
        """
        found = self.find(rule, key, on=on, category=category, full_charge_mg=full_charge_mg)
        if found is None:
            raise TableError(f"no row for {rule} {key} on {on}, {category}, {full_charge_mg} mg")
        return found

    def effective_from(self, rule: str) -> date:
        """The first day on which any row of the rule is in force."""
        if rule not in self._editions:
            raise TableError(f"no rows for {rule}")
        return self._editions[rule][0]

    def first_day(self, rule: str, key: str) -> date:
        """The first day on which any row of the rule's key is in force."""
        return min(row.effective_from for row in self._by_key[rule, key])

    def edition(self, rule: str, on: date) -> tuple[date, date]:
        """The first day of the edition of the rule that holds on a day, and of the next; no row changes between."""
        days = self._editions[rule]
        number = bisect_right(days, on)
        return days[number - 1] if number else date.min, days[number] if number < len(days) else date.max


@cache
def load_tables(directory: Path = RULES_DIRECTORY) -> Tables:
    """Reads every table of the directory; its version covers the refrigerant table too.

    Raises:
        TableError: a row with an unknown key, or without a value, unit, citation, status or first day.
    """
    digest = hashlib.sha256()
    rows: list[Row] = []
    for path in sorted([*directory.glob("*.toml"), *directory.glob("*.csv")]):
        content = path.read_bytes()
        digest.update(path.name.encode() + b"\0" + content + b"\0")
        if path.suffix == ".toml":
            rows += [_row(raw, path.name) for raw in tomllib.loads(content.decode("utf-8")).get("row", [])]
    return Tables(rows=tuple(rows), version=digest.hexdigest()[:16])


def _row(raw: dict[str, Any], file_name: str) -> Row:
    missing = [key for key in _REQUIRED if not raw.get(key)]
    unknown = [key for key in raw if key not in (*_REQUIRED, *_OPTIONAL)]
    if missing or unknown:
        raise TableError(f"{file_name}: a row lacks {missing} or has the unknown keys {unknown}: {raw}")
    if raw["status"] not in STATUSES:
        raise TableError(f"{file_name}: unknown status {raw['status']!r}: {raw}")
    return Row(
        rule=raw["rule"],
        key=raw["key"],
        value=raw["value"],
        unit=raw["unit"],
        effective_from=raw["effective_from"],
        effective_to=raw.get("effective_to"),
        citation=raw["citation"],
        status=raw["status"],
        category=raw.get("category"),
        charge_least_mg=_printed_mass(raw.get("charge_least")),
        charge_below_mg=_printed_mass(raw.get("charge_below")),
        note=raw.get("note", ""),
    )


def _pounds(mass_mg: Fraction) -> str:
    return f"{mass_mg / exact_mg(Decimal(1), 'lb')} lb"


def _printed_mass(text: str | None) -> Fraction | None:
    if text is None:
        return None
    value, unit = text.split()
    return exact_mg(Decimal(value), unit)
