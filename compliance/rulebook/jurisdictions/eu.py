"""European Union: leak checks, detection and records under Regulation (EU) 2024/573.

Covers stationary refrigeration, air conditioning and heat pumps, and refrigerated trucks and trailers. Other mobile
equipment, switchgear and fire protection are not told apart here. That a building is residential isn't on record, so
the exemption of Art. 5(1), third subparagraph, is told and not applied.
"""

from datetime import date
from fractions import Fraction

from compliance.rulebook import policy
from compliance.rulebook.facts import Category
from compliance.rulebook.grounds import Ground
from compliance.rulebook.jurisdictions.decommissioning import warn_of_unrecovered
from compliance.rulebook.jurisdictions.docket import Docket
from compliance.rulebook.jurisdictions.gases import annex_i_rests_on, holds_annex_i, part_of, part_rests_on
from compliance.rulebook.jurisdictions.leak_checks import (
    Amount,
    LeakChecks,
    bands_rest_on,
    interval_for,
    kilograms,
    tonnes_of_co2,
)
from compliance.rulebook.jurisdictions.lifetime import Reach, lifetime
from compliance.rulebook.results import RuleAssessment, RuleVerdict
from compliance.rulebook.rules import EU
from compliance.rulebook.tables import Tables
from compliance.rulebook.timeline import State, Timeline

_CITATION = "Regulation (EU) 2024/573 Art. 5(1)"
_ANNEX_II = "annex_ii_section_1"
_EXEMPTIONS = {"t CO2e": "hermetic_exemption", "kg": "hermetic_mass_exemption"}
_DETECTION_KEYS = {
    "leak_check_band": "automatic_leak_detection",
    "leak_check_mass_band": "automatic_leak_detection_mass",
}


def assess_eu(timeline: Timeline, tables: Tables) -> list[RuleAssessment]:
    """Leak checks by the bands of Art. 5(6), the check after a repair (4(5)), detection (6) and records (7)."""
    docket = Docket(EU, timeline, tables)

    def amounts_of(state: State) -> list[Amount]:
        amounts = _amounts(docket, tables, state)
        return [] if _is_exempt(docket, amounts) else amounts

    reach = Reach(EU, tables, lambda state, on: _verdict(docket, tables, state, on))
    now = reach.verdict(timeline.final_state, timeline.as_of)
    life = lifetime(timeline, reach)
    docket.scope_on = reach.scope(timeline)
    warn_of_unrecovered(docket, tables)
    if not life.ever:
        return [RuleAssessment(verdict=now, warnings=docket.warnings)]
    is_transport = timeline.appliance.category is Category.REFRIGERATED_TRANSPORT
    checks = LeakChecks(docket, life)
    checks.open_checks(amounts_of)
    checks.open_after_repairs(None if is_transport else "operation_before_check_after_repair")
    checks.open_repairs()
    checks.open_detection(lambda state: [] if is_transport else _against_detection(amounts_of(state)))
    return [docket.finish(now)]


def _verdict(docket: Docket, tables: Tables, state: State, on: date) -> RuleVerdict:
    if on < docket.begins_on:
        return _no(f"The rule is in force from {docket.begins_on}.")
    if state.refrigerant.is_ozone_depleting:
        return _no(f"{state.refrigerant}: {policy.ODS_BLENDS_ARE_RULED_ELSEWHERE}.")
    amounts = _amounts(docket, tables, state)
    if not amounts:
        return _no(f"{state.refrigerant} holds no gas of Annex I or Annex II section 1.")
    row = interval_for(docket, amounts, has_detection=False)
    sums = " and ".join(amount.in_words for amount in amounts)
    if _is_exempt(docket, amounts):
        return _no(f"{sums}: a hermetically sealed appliance of that size is exempt.")
    if row is None:
        return _no(f"{sums}: below the lowest band.")
    because = f"{sums}: a leak check every {row.in_words} without leak detection ({row.citation})."
    if len(amounts) > 1:
        because += f" {policy.STRICTER_BAND.sentence}."
    because += _residential(docket, state)
    rests_on = _rests_on(docket, amounts)
    return RuleVerdict(EU, is_applicable=True, citation=_CITATION, because=because, rests_on=rests_on)


def _rests_on(docket: Docket, amounts: list[Amount]) -> tuple[Ground, ...]:
    """The rows by which the appliance is within the rule; a sealed one was held against its exemption too."""
    on, is_sealed = docket.timeline.as_of, docket.timeline.appliance.is_hermetically_sealed
    exemptions = [docket.row(_EXEMPTIONS[amount.unit], on) for amount in amounts] if is_sealed else []
    return (*bands_rest_on(docket, amounts), *exemptions)


def _residential(docket: Docket, state: State) -> str:
    """That a sealed appliance of this size would be exempt in a residential building; nothing where it wouldn't."""
    row = docket.row("hermetic_residential_exemption", docket.timeline.as_of)
    if not docket.timeline.appliance.is_hermetically_sealed or state.full_charge_mg >= row.exact_mg:
        return ""
    return (
        f" In a residential building a hermetically sealed appliance of less than {row.in_words} of fluorinated gas is "
        f"exempt ({row.citation}, third subparagraph); in which it is isn’t on record."
    )


def _no(because: str) -> RuleVerdict:
    return RuleVerdict(EU, is_applicable=False, citation=_CITATION, because=because)


def _amounts(docket: Docket, tables: Tables, state: State) -> list[Amount]:
    """What the charge comes to in each annex's unit; nothing where no gas counts.

    Source: Art. 3(3) and Annex VI (carbon dioxide equivalent), 5(1) (bounds).
    """
    refrigerant, on = state.refrigerant, docket.timeline.as_of
    if on < docket.begins_on or refrigerant.is_ozone_depleting or refrigerant.gwp_eu_2024_573 is None:
        return []
    amounts = []
    if holds_annex_i(EU, refrigerant, tables, on):
        tonnes = tonnes_of_co2(state.full_charge_mg, Fraction(refrigerant.gwp_eu_2024_573))
        amounts.append(tonnes.resting_on(annex_i_rests_on(EU, refrigerant, tables, on)))
    annex_ii = part_of(EU, _ANNEX_II, refrigerant, tables, on)
    if annex_ii:
        mass = kilograms(state.full_charge_mg, annex_ii, "leak_check_mass_band")
        amounts.append(mass.resting_on(part_rests_on(EU, _ANNEX_II, refrigerant, tables, on)))
    return amounts


def _is_exempt(docket: Docket, amounts: list[Amount]) -> bool:
    """Whether a sealed appliance is below the bounds of its exemption."""
    on = docket.timeline.as_of
    is_under = all(not amount.reaches(docket.row(_EXEMPTIONS[amount.unit], on)) for amount in amounts)
    return docket.timeline.appliance.is_hermetically_sealed and is_under


def _against_detection(amounts: list[Amount]) -> list[Amount]:
    """The same amounts, held against the bounds from which detection is mandatory (Art. 6(1))."""
    return [amount.against(_DETECTION_KEYS[amount.band_key]) for amount in amounts]
