"""Whether 40 CFR 82.157 or 84.106 applies to an appliance in a given state on a given day, and why."""

from dataclasses import dataclass
from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.facts import Appliance
from compliance.rulebook.grounds import Ground
from compliance.rulebook.masses import format_mass
from compliance.rulebook.refrigerants import Refrigerant
from compliance.rulebook.results import RuleVerdict
from compliance.rulebook.rules import US_FEDERAL_HFC, US_FEDERAL_ODS
from compliance.rulebook.tables import Tables
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
        because = f"The rule is in force from {begins_on}."
        return RuleVerdict(rule, is_applicable=False, citation=_PARAGRAPH[rule], because=because)
    if rule == US_FEDERAL_ODS:
        reason = _ozone_depleting(state.refrigerant)
    else:
        reason = _hydrofluorocarbon(appliance, state.refrigerant, tables, on)
    if not reason.is_refrigerant_in:
        because = f"{reason.words}."
        return RuleVerdict(rule, is_applicable=False, citation=reason.citation, because=because)
    least = tables.row(rule, "least_full_charge", on=on)
    is_large_enough = state.full_charge_mg + policy.RESOLUTION.value >= least.exact_mg
    charge = f"the full charge of {format_mass(state.full_charge_mg)}"
    if is_large_enough:
        because = f"{reason.words}, and {charge} is {least.in_words} or more."
    else:
        because = f"{reason.words}, but {charge} is below {least.in_words}."
    citation = reason.citation if is_large_enough else least.citation
    rests_on = (least, *reason.rests_on)
    return RuleVerdict(rule, is_large_enough, citation, because, rests_on)


@dataclass(frozen=True)
class _Reason:
    """Whether a refrigerant is one that the rule covers, by which paragraph, and why; and what that rests on."""

    is_refrigerant_in: bool
    citation: str
    words: str
    rests_on: tuple[Ground, ...] = ()


def _ozone_depleting(refrigerant: Refrigerant) -> _Reason:
    citation = _PARAGRAPH[US_FEDERAL_ODS]
    if not refrigerant.is_ozone_depleting:
        words = f"{refrigerant} holds no class I or class II ozone-depleting substance"
        return _Reason(is_refrigerant_in=False, citation=citation, words=words)
    in_words = {"class_1": "class I", "class_2": "class II"}[refrigerant.ods_class]
    words = f"{refrigerant} is or holds a {in_words} ozone-depleting substance"
    rests_on = (refrigerant.composition_ground,)
    return _Reason(is_refrigerant_in=True, citation=citation, words=words, rests_on=rests_on)


def _hydrofluorocarbon(appliance: Appliance, refrigerant: Refrigerant, tables: Tables, on: date) -> _Reason:
    """The exclusions of 84.106(a)(3) and the bound of (a)(2), then what remains."""
    if refrigerant.is_ozone_depleting and not refrigerant.contains_hfc:
        words = f"{refrigerant} is ozone-depleting and holds no regulated hydrofluorocarbon"
        if len(refrigerant.composition) > 1:
            words += f" ({policy.ODS_BLEND_WITHOUT_HFC})"
        return _Reason(is_refrigerant_in=False, citation=_EXCLUDED_ODS, words=words)
    floor = tables.row(US_FEDERAL_HFC, "substitute_gwp_floor", on=on)
    citation, words = _PARAGRAPH[US_FEDERAL_HFC], f"{refrigerant} holds a regulated hydrofluorocarbon"
    rests_on: tuple[Ground, ...] = (refrigerant.composition_ground,)
    if not refrigerant.contains_hfc:
        is_above = refrigerant.gwp_ar4 > floor.number
        citation = floor.citation
        rests_on = (floor, refrigerant.composition_ground, refrigerant.gwp_ar4_ground)
        words = (
            f"{refrigerant} is a substitute with a global warming potential of {refrigerant.gwp_ar4}, "
            f"{'above' if is_above else 'not above'} {floor.value} ({policy.GWP_GATES_SUBSTITUTES_ONLY})"
        )
        if not is_above:
            return _Reason(is_refrigerant_in=False, citation=citation, words=words)
    if appliance.is_residential_or_light_commercial:
        words = (
            "The residential and light commercial air conditioning and heat pump subsector is excluded "
            f"({policy.SUBSECTOR_IS_A_DECISION})"
        )
        return _Reason(is_refrigerant_in=False, citation=_EXCLUDED_SUBSECTOR, words=words)
    if refrigerant.is_ozone_depleting:
        words += f" ({policy.BLEND_UNDER_BOTH})"
    return _Reason(is_refrigerant_in=True, citation=citation, words=words, rests_on=rests_on)
