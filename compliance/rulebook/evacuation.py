"""How far an appliance is to be evacuated before it is opened or disposed of (40 CFR 82.156(a), table 1)."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from compliance.rulebook.masses import format_mass
from compliance.rulebook.refrigerants import Refrigerant
from compliance.rulebook.tables import Tables, load_tables

_RULE = "us-federal-608"
_ON = date(2026, 1, 1)

# Exact conversions of the conventional units (NIST SP 811, appendix B.8), rounded to the figures printed there.
_KPA_PER_INHG = Decimal("3.386389")
_KPA_PER_MMHG = Decimal("0.1333224")


@dataclass(frozen=True)
class EvacuationLevel:
    """The level to reach, as the table prints it and as absolute pressure.

    ``unit`` is ``inHg_vacuum`` (relative to 29.9 in Hg) or ``mmHg_absolute``. ``is_confirmed`` is false where the
    refrigerant's pressure class isn't named in 40 CFR 82.152.
    """

    value: Decimal
    unit: str
    kpa_abs: Decimal
    citation: str
    because: str
    is_confirmed: bool

    @property
    def in_words(self) -> str:
        return f"{self.value} {'in Hg vacuum' if self.unit == 'inHg_vacuum' else 'mm Hg absolute'}"


def required_evacuation(
    refrigerant: Refrigerant,
    *,
    full_charge_mg: int,
    machine_made_on: date | None = None,
    tables: Tables | None = None,
) -> EvacuationLevel:
    """The evacuation level for an appliance or isolated component that is opened for a major repair or disposed of.

    Not for small appliances and motor vehicle air conditioning, which have rules of their own (82.156(b) to (d)), nor
    where leaks make the level unattainable ((a)(2)). The level depends on when the recovery machine was made, not the
    appliance.

    Args:
        refrigerant: its pressure class decides.
        full_charge_mg: normal charge of the appliance or isolated component, in milligrams.
        machine_made_on: manufacture date of the recovery machine; ``None`` counts as after the table's split, which is
            never the shallower level.
        tables: the dated numbers; those of fixtures/rules by default.

    Source: 40 CFR 82.156(a), table 1.
    """
    tables = tables or load_tables()
    split = tables.row(_RULE, "evacuation_machine_split", on=_ON)
    is_old_machine = machine_made_on is not None and machine_made_on < split.day
    key = "evacuation_level_machine_before_1993_11_15" if is_old_machine else "evacuation_level"
    pressure_class = refrigerant.pressure_class
    row = tables.row(_RULE, key, on=_ON, category=pressure_class, full_charge_mg=full_charge_mg)
    if row.unit == "inHg_vacuum":
        reference = tables.row(_RULE, "evacuation_reference", on=_ON)
        kpa_abs = (reference.number - row.number) * _KPA_PER_INHG
    else:
        kpa_abs = row.number * _KPA_PER_MMHG
    made = "before" if is_old_machine else "on or after"
    because = (
        f"{refrigerant} is a {pressure_class.replace('_', '-')}-pressure refrigerant, the charge is "
        f"{format_mass(full_charge_mg)}, and the recovery machine was made {made} {split.day}."
    )
    return EvacuationLevel(
        value=row.number,
        unit=row.unit,
        kpa_abs=kpa_abs.quantize(Decimal("0.01")),
        citation=row.citation,
        because=because,
        is_confirmed=refrigerant.is_pressure_class_confirmed,
    )
