"""The rules of filling a cylinder as the page of the rules and the command of unconfirmed numbers tell them."""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass

from compliance.rulebook.unconfirmed import Unconfirmed
from jobs.physics.fill_rules import SUPPLIED, all_fill_rules
from jobs.physics.filling_densities import all_filling_densities

FILLING = "filling"


@dataclass(frozen=True)
class FillingNumber:
    """One number: ``key`` and ``applies_to`` name it; ``is_as_of`` says that ``since`` is the day it was read."""

    key: str
    applies_to: str
    value: str
    since: datetime.date
    is_as_of: bool
    citation: str
    status: str
    note: str


def filling_numbers() -> Iterator[FillingNumber]:
    """Every row of fixtures/physics/fill_rules.toml, then of filling_densities.csv."""
    for rule in all_fill_rules():
        yield FillingNumber(
            key="liquid_share",
            applies_to=f"at {rule.at_c} °C, {'as supplied' if rule.fills == SUPPLIED else 'as we fill'}",
            value=f"{rule.liquid_share_pct} % of the volume",
            since=rule.effective_from,
            is_as_of=False,
            citation=rule.citation,
            status=rule.status,
            note=rule.note,
        )
    for density in all_filling_densities():
        yield FillingNumber(
            key="filling_density",
            applies_to=density.refrigerant,
            value=f"{density.pct} % of the water mass",
            since=density.as_of,
            is_as_of=True,
            citation=density.citation,
            status="C" if density.is_confirmed else "M",
            note=density.source,
        )


def unconfirmed_filling() -> list[Unconfirmed]:
    """Those that weren't read in the source they cite."""
    return [
        Unconfirmed(FILLING, row.key, row.applies_to, row.value, row.citation, row.status, row.note)
        for row in filling_numbers()
        if row.status != "C"
    ]
