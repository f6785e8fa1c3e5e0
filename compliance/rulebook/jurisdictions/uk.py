"""Great Britain: leak checks, detection and records under the retained Regulations (EU) 517/2014 and (EC) 1005/2009.

Northern Ireland follows the law of the European Union. Switchgear and fire protection are not told apart here.
"""

from datetime import date
from fractions import Fraction

from compliance.rulebook.grounds import Ground
from compliance.rulebook.jurisdictions.decommissioning import warn_of_unrecovered
from compliance.rulebook.jurisdictions.docket import Docket
from compliance.rulebook.jurisdictions.gases import annex_i_rests_on, holds_annex_i
from compliance.rulebook.jurisdictions.leak_checks import (
    Amount,
    LeakChecks,
    bands_rest_on,
    interval_for,
    kilograms,
    tonnes_of_co2,
)
from compliance.rulebook.jurisdictions.lifetime import Reach, lifetime
from compliance.rulebook.refrigerants import Refrigerant, find
from compliance.rulebook.results import RuleAssessment, RuleVerdict
from compliance.rulebook.rules import UK
from compliance.rulebook.tables import Row, Tables
from compliance.rulebook.timeline import State, Timeline

_FLUORINATED = "Regulation (EU) No 517/2014 (Great Britain) Art. 4(1)"
_OZONE_DEPLETING = "Regulation (EC) No 1005/2009 (Great Britain) Art. 23(2)"


def assess_uk(timeline: Timeline, tables: Tables) -> list[RuleAssessment]:
    """Leak checks by tonnes of carbon dioxide equivalent, or by kilograms of ozone-depleting refrigerant."""
    docket = Docket(UK, timeline, tables)

    def amounts_of(state: State) -> list[Amount]:
        return [amount for amount in _amounts(docket, tables, state) if not _is_exempt(docket, amount)]

    def detection_of(state: State) -> list[Amount]:
        return [
            amount.against("automatic_leak_detection")
            for amount in amounts_of(state)
            if amount.unit == "t CO2e"
        ]

    reach = Reach(UK, tables, lambda state, on: _verdict(docket, tables, state, on))
    now = reach.verdict(timeline.final_state, timeline.as_of)
    life = lifetime(timeline, reach)
    docket.scope_on = reach.scope(timeline)
    warn_of_unrecovered(docket, tables)
    if not life.ever:
        return [RuleAssessment(verdict=now, warnings=docket.warnings)]
    checks = LeakChecks(docket, life)
    checks.open_checks(amounts_of)
    checks.open_after_repairs()
    checks.open_repairs("ods_repair" if timeline.final_state.refrigerant.is_ozone_depleting else "repair")
    checks.open_detection(detection_of)
    return [docket.finish(now)]


def _verdict(docket: Docket, tables: Tables, state: State, on: date) -> RuleVerdict:
    citation = _OZONE_DEPLETING if state.refrigerant.is_ozone_depleting else _FLUORINATED
    amounts = _amounts(docket, tables, state)
    row = interval_for(docket, amounts, has_detection=False)
    is_applicable = False
    rests_on: tuple[Ground, ...] = ()
    if on < docket.begins_on:
        because = f"The rule is in force from {docket.begins_on}."
    elif not amounts:
        because = f"{state.refrigerant} is neither fluorinated nor ozone-depleting."
    elif _is_exempt(docket, amounts[0]):
        because = f"{amounts[0].in_words}: a hermetically sealed appliance of that size is exempt."
    elif row is None:
        because = f"{amounts[0].in_words}: below the lowest band."
    else:
        is_applicable = True
        rests_on = (*bands_rest_on(docket, amounts), *_exemption_rests_on(docket, amounts[0]))
        because = (
            f"{amounts[0].in_words}: a leak check every {row.in_words} without leak detection ({row.citation}). "
            "Read in secondary sources; global warming potentials from memory."
        )
    return RuleVerdict(UK, is_applicable, citation, because, rests_on)


def _amounts(docket: Docket, tables: Tables, state: State) -> list[Amount]:
    """The charge in the unit of its regulation; nothing where none applies."""
    refrigerant, on = state.refrigerant, docket.timeline.as_of
    if on < docket.begins_on:
        return []
    if refrigerant.is_ozone_depleting:
        whole = Fraction(1)
        mass = kilograms(state.full_charge_mg, whole, "ods_leak_check_band", "ods_leak_check_interval")
        return [mass.resting_on([refrigerant.composition_ground])]
    if holds_annex_i(UK, refrigerant, tables, on):
        tonnes = tonnes_of_co2(state.full_charge_mg, _gwp(refrigerant, tables, on))
        listed = annex_i_rests_on(UK, refrigerant, tables, on)
        return [tonnes.resting_on([*listed, *_gwp_rests_on(refrigerant, tables, on)])]
    return []


def _is_exempt(docket: Docket, amount: Amount) -> bool:
    """Whether a sealed appliance is below the bound of its exemption."""
    is_sealed = docket.timeline.appliance.is_hermetically_sealed
    return is_sealed and not amount.reaches(_exemption(docket, amount))


def _exemption(docket: Docket, amount: Amount) -> Row:
    key = "hermetic_exemption" if amount.unit == "t CO2e" else "ods_hermetic_exemption"
    return docket.row(key, docket.timeline.as_of)


def _exemption_rests_on(docket: Docket, amount: Amount) -> tuple[Ground, ...]:
    """The bound of the exemption that a sealed appliance was held against."""
    return (_exemption(docket, amount),) if docket.timeline.appliance.is_hermetically_sealed else ()


def _gwp(refrigerant: Refrigerant, tables: Tables, on: date) -> Fraction:
    """The potential of 517/2014: that of the fourth assessment report, with its own for unsaturated gases."""
    gwp = Fraction(refrigerant.gwp_ar4)
    for component, mass_pct in refrigerant.composition:
        row = tables.find(UK, "gwp_517_2014", on=on, category=component)
        if row is not None:
            gwp += Fraction(mass_pct) / 100 * (Fraction(row.number) - Fraction(find(component).gwp_ar4))
    return gwp


def _gwp_rests_on(refrigerant: Refrigerant, tables: Tables, on: date) -> list[Ground]:
    """The basis that the regulation names for its potentials, its own ones, and those of the assessment report."""
    grounds: list[Ground] = [tables.row(UK, "gwp_basis", on=on)]
    for component, _ in refrigerant.composition:
        row = tables.find(UK, "gwp_517_2014", on=on, category=component)
        if row is not None:
            grounds.append(row)
    return [*grounds, refrigerant.gwp_ar4_ground]
