"""Whether 40 CFR 82.157 or 84.106 applies to an appliance in a given state on a given day, and why."""

from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.facts import Appliance
from compliance.rulebook.masses import format_mass
from compliance.rulebook.refrigerants import Refrigerant
from compliance.rulebook.results import RuleVerdict
from compliance.rulebook.rules import US_FEDERAL_HFC, US_FEDERAL_ODS
from compliance.rulebook.tables import Row, Tables
from compliance.rulebook.timeline import State

_PARAGRAPH = {US_FEDERAL_ODS: "40 CFR 82.157(a)", US_FEDERAL_HFC: "40 CFR 84.106(a)"}
_EXCLUDED_ODS = "40 CFR 84.106(a)(3)(i)"
_EXCLUDED_SUBSECTOR = "40 CFR 84.106(a)(3)(ii)"


def verdict(rule: str, appliance: Appliance, state: State, on: date, tables: Tables) -> RuleVerdict:
    """Says whether the rule applies to the appliance on that day, with the paragraph and the reason.

    Args:
        rule: ``us-federal-ods`` or ``us-federal-hfc``.
        appliance: for the subsector decision.
        state: refrigerant and full charge in force.
        on: the day; before the rule's first day it never applies.
        tables: the dated numbers.

    Source: 40 CFR 82.157(a), 40 CFR 84.106(a).
    """
    begins_on = tables.effective_from(rule)
    if on < begins_on:
        return RuleVerdict(rule, False, _PARAGRAPH[rule], f"The rule is in force from {begins_on}.")
    if rule == US_FEDERAL_ODS:
        reason = _ozone_depleting(state.refrigerant)
    else:
        reason = _hydrofluorocarbon(appliance, state.refrigerant, tables, on)
    is_refrigerant_in, citation, because = reason
    if not is_refrigerant_in:
        return RuleVerdict(rule, False, citation, f"{because}.")
    least = tables.row(rule, "least_full_charge", on=on)
    is_large_enough = state.full_charge_mg + policy.RESOLUTION.value >= least.exact_mg
    return RuleVerdict(
        rule,
        is_large_enough,
        citation if is_large_enough else least.citation,
        _with_charge(because, state, least),
    )


def _ozone_depleting(refrigerant: Refrigerant) -> tuple[bool, str, str]:
    citation = _PARAGRAPH[US_FEDERAL_ODS]
    if not refrigerant.is_ozone_depleting:
        return False, citation, f"{refrigerant} holds no class I or class II ozone-depleting substance"
    in_words = {"class_1": "class I", "class_2": "class II"}[refrigerant.ods_class]
    return True, citation, f"{refrigerant} is or holds a {in_words} ozone-depleting substance"


def _hydrofluorocarbon(
    appliance: Appliance, refrigerant: Refrigerant, tables: Tables, on: date
) -> tuple[bool, str, str]:
    if refrigerant.is_ozone_depleting and not refrigerant.contains_hfc:
        if len(refrigerant.composition) == 1:
            return False, _EXCLUDED_ODS, f"{refrigerant} is solely an ozone-depleting substance"
        return (
            False,
            _EXCLUDED_ODS,
            f"{refrigerant} holds no regulated substance: {policy.ODS_BLEND_WITHOUT_HFC}",
        )
    floor = tables.row(US_FEDERAL_HFC, "substitute_gwp_floor", on=on)
    if not refrigerant.contains_hfc and refrigerant.gwp_ar4 <= floor.number:
        because = (
            f"{refrigerant} holds no regulated hydrofluorocarbon and its global warming potential is "
            f"{refrigerant.gwp_ar4}, not above {floor.value}"
        )
        return False, floor.citation, because
    if appliance.is_residential_or_light_commercial:
        because = (
            "The appliance is used for residential and light commercial air conditioning and heat pumps, which is excluded; "
            f"{policy.SUBSECTOR_IS_A_DECISION}"
        )
        return False, _EXCLUDED_SUBSECTOR, because
    if not refrigerant.contains_hfc:
        because = f"{refrigerant} is a substitute with a global warming potential of {refrigerant.gwp_ar4}, above {floor.value}"
        return True, floor.citation, because
    because = f"{refrigerant} holds a regulated hydrofluorocarbon"
    if refrigerant.is_ozone_depleting:
        because += f" ({policy.BLEND_UNDER_BOTH})"
    return True, _PARAGRAPH[US_FEDERAL_HFC], because


def _with_charge(because: str, state: State, least: Row) -> str:
    is_large_enough = state.full_charge_mg + policy.RESOLUTION.value >= least.exact_mg
    charge = format_mass(state.full_charge_mg)
    if is_large_enough:
        return f"{because}, and the full charge of {charge} is {least.in_words} or more."
    return f"{because}, but the full charge of {charge} is below {least.in_words}."
