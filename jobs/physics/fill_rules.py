"""The shares of a cylinder's volume that may be liquid: dated rows of fixtures/physics/fill_rules.toml."""

import tomllib
from dataclasses import dataclass
from datetime import date
from functools import cache

from jobs.physics.fluids import TABLES

# Whose filling a row is for: ours, or that of whoever fills for transport.
OWN = "own"
SUPPLIED = "supplied"


@dataclass(frozen=True)
class FillRule:
    """One row: at ``at_c`` °C liquid may take up ``liquid_share_pct`` percent of the volume at most."""

    fills: str
    at_c: int
    liquid_share_pct: int
    effective_from: date
    citation: str
    status: str
    note: str

    @property
    def is_confirmed(self) -> bool:
        """Whether it was read in a source, and isn't recalled from memory."""
        return self.status != "M"

    @property
    def in_words(self) -> str:
        return f"{self.liquid_share_pct} % at {self.at_c} °C"

    @property
    def doubt(self) -> str:
        """What to look up, and where."""
        return f"{self.citation} ({self.in_words})"


@cache
def all_fill_rules() -> tuple[FillRule, ...]:
    """Every row, in the table's order."""
    with (TABLES / "fill_rules.toml").open("rb") as file:
        return tuple(FillRule(**row) for row in tomllib.load(file)["row"])


@cache
def fill_rules(
    fills: str, on: date | None = None, rows: tuple[FillRule, ...] | None = None
) -> tuple[FillRule, ...]:
    """The rows in force for filling, the coolest temperature first.

    Args:
        fills: ``OWN`` or ``SUPPLIED``.
        on: the day of the filling: of each temperature its newest row by then, or its first, counts; the newest
            unless given.
        rows: those to choose from; the table's by default.
    """
    found: dict[int, FillRule] = {}
    for rule in sorted(
        all_fill_rules() if rows is None else rows, key=lambda rule: (rule.at_c, rule.effective_from)
    ):
        is_begun = on is None or rule.effective_from <= on
        if rule.fills == fills and (is_begun or rule.at_c not in found):
            found[rule.at_c] = rule
    return tuple(found.values())
