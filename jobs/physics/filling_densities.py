"""Filling densities that 49 CFR 173.304a(a)(2) lists: the most a cylinder may hold, in percent of its water mass."""

import csv
from dataclasses import dataclass
from datetime import date
from functools import cache

from jobs.physics.fluids import TABLES


@dataclass(frozen=True)
class FillingDensity:
    """One row of fixtures/physics/filling_densities.csv; ``as_of`` is the day as of which it was read or remembered."""

    refrigerant: str
    pct: int
    citation: str
    as_of: date
    is_confirmed: bool
    source: str

    @property
    def doubt(self) -> str:
        """What to look up, and where."""
        return f"{self.citation} (filling density of {self.refrigerant}, {self.pct} %)"


def listed_filling_density(designation: str) -> FillingDensity | None:
    """The listed filling density; None where the table has none for this refrigerant.

    Source: 49 CFR 173.304a(a)(2).
    """
    return next((row for row in all_filling_densities() if row.refrigerant == designation), None)


@cache
def all_filling_densities() -> tuple[FillingDensity, ...]:
    """Every row, in the table's order."""
    with (TABLES / "filling_densities.csv").open(encoding="utf-8", newline="") as file:
        return tuple(
            FillingDensity(
                refrigerant=row["refrigerant"],
                pct=int(row["filling_density_pct"]),
                citation=row["citation"],
                as_of=date.fromisoformat(row["as_of"]),
                is_confirmed=row["confirmed"] == "y",
                source=row["source"],
            )
            for row in csv.DictReader(file)
        )
