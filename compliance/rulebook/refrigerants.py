"""Refrigerants by ASHRAE 34 designation: composition and the properties that rules turn on."""

import csv
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from compliance.rulebook.errors import InvalidInput
from compliance.rulebook.grounds import PropertyGround

REFRIGERANTS_CSV = Path(__file__).resolve().parents[2] / "fixtures" / "rules" / "refrigerants.csv"

_LONGEST_DESIGNATION = 40


@dataclass(frozen=True)
class Refrigerant:
    """One row of the refrigerant table.

    ``ods_class`` is ``class_1``, ``class_2`` or ``none``; ``pressure_class`` is ``low``, ``medium``, ``high`` or
    ``very_high`` (40 CFR 82.152) and is sure only where ``is_pressure_class_confirmed``. Each rule names its own basis
    for the global warming potential: 40 CFR part 84 the ``gwp_ar4`` column, the European Union ``gwp_eu_2024_573``
    (empty for ozone-depleting blends without another fluorinated gas, which another regulation rules).

    ``from_memory`` names the properties that weren't read in the sources of ``citation``: ``composition``, ``gwp_ar4``,
    ``gwp_ar5``, ``gwp_ar6``, ``odp``; ``as_of`` is the day as of which the rest was.
    """

    designation: str
    composition: tuple[tuple[str, Decimal], ...]
    safety_class: str
    is_safety_class_confirmed: bool
    ods_class: str
    contains_hfc: bool
    gwp_ar4: Decimal
    gwp_ar5: Decimal
    gwp_ar6: Decimal
    gwp_eu_2024_573: Decimal | None
    odp: Decimal
    pressure_class: str
    pressure_class_source: str
    is_pressure_class_confirmed: bool
    from_memory: frozenset[str]
    citation: str
    as_of: date
    notes: str

    @property
    def is_ozone_depleting(self) -> bool:
        return self.ods_class != "none"

    @property
    def composition_ground(self) -> PropertyGround:
        """What a rule rests on that asks which substances the refrigerant holds, and how much of each."""
        return PropertyGround(f"the composition of {self.designation}", "composition" not in self.from_memory)

    @property
    def gwp_ar4_ground(self) -> PropertyGround:
        """What a rule rests on that asks for the global warming potential of the fourth assessment report."""
        return PropertyGround(
            f"the global warming potential (AR4) of {self.designation}", "gwp_ar4" not in self.from_memory
        )

    def __str__(self) -> str:
        return self.designation


def find(designation: Any, field: str = "refrigerant") -> Refrigerant:
    """Finds a refrigerant by designation: ``R-410A``, ``R410A``, ``HFC-134a``.

    Letters' case, blanks and the hyphen are not told apart. A prefix that states a family (CFC, HCFC, HFC) must be true
    of the substance.

    Raises:
        InvalidInput: unknown, or not text.
    """
    expected = "a refrigerant designation of ASHRAE 34 that is in the table, such as R-410A"
    if not isinstance(designation, str) or len(designation) > _LONGEST_DESIGNATION:
        raise InvalidInput(field, designation, expected)
    found = _by_key().get(_key(designation))
    if found is None:
        raise InvalidInput(field, designation, expected)
    return found


@cache
def all_refrigerants() -> tuple[Refrigerant, ...]:
    """Every refrigerant of the table, in its order."""
    with REFRIGERANTS_CSV.open(encoding="utf-8", newline="") as file:
        return tuple(_from_row(row) for row in csv.DictReader(file))


@cache
def _by_key() -> dict[str, Refrigerant]:
    table = {}
    for refrigerant in all_refrigerants():
        for prefix in ("R", *_families(refrigerant)):
            table[prefix + _key(refrigerant.designation)[1:]] = refrigerant
    return table


def _families(refrigerant: Refrigerant) -> tuple[str, ...]:
    """The chemical family prefixes that may stand for ``R`` in a designation of this refrigerant."""
    if len(refrigerant.composition) > 1:
        return ()
    if refrigerant.is_ozone_depleting:
        return ("CFC",) if refrigerant.ods_class == "class_1" else ("HCFC",)
    if refrigerant.contains_hfc:
        return ("HFC",)
    number = _key(refrigerant.designation)[1:]
    for start, families in (
        ("1233", ("HCFO",)),
        ("1234", ("HFO",)),
        ("1336", ("HFO",)),
        ("116", ("PFC", "FC")),
    ):
        if number.startswith(start):
            return families
    return ("HC",) if refrigerant.safety_class == "A3" else ()


def _key(designation: str) -> str:
    return designation.upper().replace("-", "").replace(" ", "")


def _from_row(row: dict[str, str]) -> Refrigerant:
    parts = (part.rsplit(":", 1) for part in row["composition_mass_pct"].split("|"))
    return Refrigerant(
        designation=row["designation"],
        composition=tuple((component, Decimal(mass_pct)) for component, mass_pct in parts),
        safety_class=row["safety_class"],
        is_safety_class_confirmed=row["safety_confirmed"] == "y",
        ods_class=row["ods_class"],
        contains_hfc=row["contains_hfc"] == "y",
        gwp_ar4=Decimal(row["gwp_ar4"]),
        gwp_ar5=Decimal(row["gwp_ar5"]),
        gwp_ar6=Decimal(row["gwp_ar6"]),
        gwp_eu_2024_573=Decimal(row["gwp_eu_2024_573"]) if row["gwp_eu_2024_573"] else None,
        odp=Decimal(row["odp"]),
        pressure_class=row["pressure_class"],
        pressure_class_source=row["pressure_class_source"],
        is_pressure_class_confirmed=row["pressure_class_confirmed"] == "y",
        from_memory=frozenset(row["from_memory"].split("|")) - {""},
        citation=row["citation"],
        as_of=date.fromisoformat(row["as_of"]),
        notes=row["source"],
    )
