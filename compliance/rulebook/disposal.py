"""Which disposals of appliances the records of 40 CFR 82.156(a)(3) are kept of."""

from dataclasses import dataclass
from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.masses import format_mass
from compliance.rulebook.refrigerants import Refrigerant
from compliance.rulebook.tables import Tables, load_tables

_RULE = "us-federal-608"


@dataclass(frozen=True)
class DisposalVerdict:
    """Whether a disposal is to be on record, with the paragraph, the reason, and what a person has still to decide."""

    is_recorded: bool
    citation: str
    because: str
    remark: str = ""


def disposal_verdict(
    refrigerant: Refrigerant, *, full_charge_mg: int, on: date, tables: Tables | None = None
) -> DisposalVerdict:
    """Say whether the disposal of an appliance on a day is to be on record.

    Appliances of more than 5 and less than 50 lb, both ends excluded, with an ozone-depleting refrigerant or a
    substitute that isn't exempt. A substitute that is exempt in some end-uses alone is taken in: whether the use is
    one of them is for a person to say.

    Args:
        refrigerant: what the appliance held.
        full_charge_mg: its full charge, in milligrams.
        on: the day of disposal.
        tables: the dated numbers; those of fixtures/rules by default.

    Source: 40 CFR 82.156(a)(3); exemptions of 82.154(a)(1).
    """
    tables = tables or load_tables()
    above = tables.find(_RULE, "disposal_record_charge_above", on=on)
    below = tables.find(_RULE, "disposal_record_charge_below", on=on)
    if above is None or below is None:
        return _not_recorded("40 CFR 82.156(a)(3)", f"The paragraph was not in force on {on}.")
    if exempt := tables.find(_RULE, "exempt_in_any_use", on=on, category=refrigerant.designation):
        return _not_recorded(exempt.citation, f"{refrigerant} is exempt in any use.")
    charge = f"Full charge {format_mass(full_charge_mg)}"
    resolution_mg = policy.RESOLUTION.value
    if full_charge_mg - resolution_mg <= above.exact_mg:
        return _not_recorded(above.citation, f"{charge}, not more than {above.in_words}.")
    if full_charge_mg + resolution_mg >= below.exact_mg:
        return _not_recorded(below.citation, f"{charge}, not less than {below.in_words}.")
    because = f"{charge}, more than {above.in_words} and less than {below.in_words}."
    remark = ""
    if tables.find(_RULE, "exempt_in_some_uses", on=on, category=refrigerant.designation):
        remark = f"{refrigerant} is exempt in some end-uses only: leave it out where this is one of them."
    return DisposalVerdict(is_recorded=True, citation=above.citation, because=because, remark=remark)


def _not_recorded(citation: str, because: str) -> DisposalVerdict:
    return DisposalVerdict(is_recorded=False, citation=citation, because=because)
