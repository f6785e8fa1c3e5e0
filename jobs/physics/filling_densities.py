"""Filling densities that 49 CFR 173.304a(a)(2) lists: the most a cylinder may hold, in percent of its water mass."""

import csv
from functools import cache

from jobs.physics.fluids import TABLES


def listed_filling_density_pct(designation: str) -> int | None:
    """The listed filling density, percent of the water mass; None where the table has none for this refrigerant.

    Source: 49 CFR 173.304a(a)(2), ``fixtures/physics/filling_densities.csv`` (each row says whether it is confirmed).
    """
    return _by_designation().get(designation)


@cache
def _by_designation() -> dict[str, int]:
    with (TABLES / "filling_densities.csv").open(encoding="utf-8", newline="") as file:
        return {row["refrigerant"]: int(row["filling_density_pct"]) for row in csv.DictReader(file)}
