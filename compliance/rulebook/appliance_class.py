"""Which class of appliance the rules of 40 CFR part 82 subpart F see: small, MVAC-like, or one of pressure."""

from dataclasses import dataclass
from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.masses import format_mass
from compliance.rulebook.refrigerants import Refrigerant
from compliance.rulebook.tables import Tables

RULE_608 = "us-federal-608"
SMALL_APPLIANCE = "small_appliance"
MVAC_LIKE = "mvac_like"

CLASS_IN_WORDS = {
    SMALL_APPLIANCE: "a small appliance",
    MVAC_LIKE: "an appliance like motor vehicle air conditioning",
    "low": "a low-pressure appliance",
    "medium": "a medium-pressure appliance",
    "high": "a high-pressure appliance",
    "very_high": "a very-high-pressure appliance",
}


@dataclass(frozen=True)
class Circuit:
    """What of an appliance, or of an isolated part of it, decides its class (normal charge in mg)."""

    refrigerant: Refrigerant
    full_charge_mg: int
    is_hermetically_sealed: bool = False
    is_mvac_like: bool = False


@dataclass(frozen=True)
class ApplianceClass:
    """A class by its name in the tables, and why an appliance belongs to it.

    ``is_confirmed`` is false where the class is one of pressure that 40 CFR 82.152 doesn't name for the refrigerant.
    """

    name: str
    because: str
    is_confirmed: bool

    @property
    def in_words(self) -> str:
        return CLASS_IN_WORDS[self.name]


def appliance_class(circuit: Circuit, *, on: date, tables: Tables) -> ApplianceClass:
    """The class that decides certificates and evacuation.

    Args:
        circuit: the appliance.
        on: the day whose definitions count.
        tables: the dated numbers.

    Source: 40 CFR 82.152, small appliance, MVAC-like appliance, low-, medium-, high- and very high-pressure appliance.
    """
    refrigerant, charge = circuit.refrigerant, format_mass(circuit.full_charge_mg)
    least_mg = circuit.full_charge_mg - policy.RESOLUTION.value
    mvac = tables.row(RULE_608, "mvac_like_charge", on=on)
    is_excluded = (
        tables.find(RULE_608, "mvac_like_excludes", on=on, category=refrigerant.designation) is not None
    )
    if circuit.is_mvac_like and least_mg <= mvac.exact_mg and not is_excluded:
        because = f"cab cooling with {charge}, at most {mvac.in_words}"
        return ApplianceClass(MVAC_LIKE, because, is_confirmed=True)
    small = tables.row(RULE_608, "small_appliance_charge", on=on)
    if circuit.is_hermetically_sealed and least_mg <= small.exact_mg:
        because = f"hermetically sealed, {charge}, at most {small.in_words}"
        return ApplianceClass(SMALL_APPLIANCE, because, is_confirmed=True)
    because = f"{refrigerant} is a {refrigerant.pressure_class.replace('_', '-')}-pressure refrigerant"
    if not refrigerant.is_pressure_class_confirmed:
        because += " (reckoned from its saturation pressure at 104 °F, not named in 40 CFR 82.152)"
    return ApplianceClass(refrigerant.pressure_class, because, refrigerant.is_pressure_class_confirmed)
