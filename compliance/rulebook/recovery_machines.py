"""Whether a recovery machine may be used on an appliance (40 CFR 82.154(b), 82.156(e), 82.158)."""

from dataclasses import dataclass
from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.appliance_class import RULE_608
from compliance.rulebook.masses import format_mass
from compliance.rulebook.tables import Tables, load_tables


@dataclass(frozen=True)
class Machine:
    """What of a recovery machine the rules turn on; ``is_pump_out_unit``: permanently attached to the appliance."""

    made_on: date
    is_certified: bool
    is_system_dependent: bool = False
    is_pump_out_unit: bool = False


@dataclass(frozen=True)
class MachineFinding:
    """One thing that a rule says of a machine on an appliance; it ``forbids`` its use, or asks to look at it."""

    forbids: bool
    citation: str
    because: str
    is_confirmed: bool


def machine_findings(
    machine: Machine, *, full_charge_mg: int, on: date, tables: Tables | None = None
) -> list[MachineFinding]:
    """What speaks against using a recovery machine on an appliance; nothing if all is well.

    Args:
        machine: the machine.
        full_charge_mg: of the appliance, in milligrams.
        on: the day of use.
        tables: the dated numbers; those of fixtures/rules by default.

    Source: 40 CFR 82.154(b)(2), 82.158 (certified); 82.156(e) (system-dependent).
    """
    tables = tables or load_tables()
    if on < tables.effective_from(RULE_608):
        return []
    found = []
    split = tables.row(RULE_608, "machine_certification_split", on=on)
    if not machine.is_certified and machine.made_on < split.day:
        because = (
            f"It was made before {split.day} and names no certifying body. Such a machine counts as certified if it "
            "reaches the levels that 40 CFR 82.158 lists for it: the officer should have that on file."
        )
        found.append(
            MachineFinding(forbids=False, citation=split.citation, because=because, is_confirmed=False)
        )
    elif not machine.is_certified:
        because = "Recovery equipment must be certified, and no certifying body is on record for it."
        found.append(
            MachineFinding(
                forbids=True, citation="40 CFR 82.154(b)(2), 82.158", because=because, is_confirmed=True
            )
        )
    most = tables.row(RULE_608, "system_dependent_charge", on=on)
    is_small = full_charge_mg - policy.RESOLUTION.value <= most.exact_mg
    if machine.is_system_dependent and not machine.is_pump_out_unit and not is_small:
        because = (
            f"It is system-dependent, and the appliance's full charge is {format_mass(full_charge_mg)}, more than "
            f"{most.in_words}. That is allowed only of a pump-out unit permanently attached to the appliance."
        )
        found.append(
            MachineFinding(
                forbids=True, citation=most.citation, because=because, is_confirmed=most.is_confirmed
            )
        )
    return found
