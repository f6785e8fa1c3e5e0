"""Whether California's program covers an appliance: stationary refrigeration with enough of a potent gas."""

from datetime import date

from compliance.rulebook import policy
from compliance.rulebook.facts import Category
from compliance.rulebook.grounds import Ground
from compliance.rulebook.jurisdictions.docket import Docket
from compliance.rulebook.masses import format_mass
from compliance.rulebook.results import RuleVerdict
from compliance.rulebook.rules import US_CALIFORNIA
from compliance.rulebook.timeline import State

_CITATION = "17 CCR 95381"
_REFRIGERATION = (
    Category.COMMERCIAL_REFRIGERATION,
    Category.INDUSTRIAL_PROCESS_REFRIGERATION,
    Category.OTHER,
)


def verdict(docket: Docket, state: State, on: date) -> RuleVerdict:
    """Says whether the program covers the appliance in a state on a day, and why.

    Source: 17 CCR 95381, 95382.
    """
    category = docket.timeline.appliance.category
    if on < docket.begins_on:
        return _answer(is_applicable=False, because=f"The rule is in force from {docket.begins_on}.")
    if category not in _REFRIGERATION:
        return _answer(
            is_applicable=False, because=f"It covers stationary refrigeration, not {category.in_words}."
        )
    least_gwp = docket.row("least_gwp", on)
    refrigerant = state.refrigerant
    if not refrigerant.is_ozone_depleting and refrigerant.gwp_ar4 < least_gwp.number:
        because = (
            f"{refrigerant} has a global warming potential of {refrigerant.gwp_ar4}, below {least_gwp.value}."
        )
        return _answer(is_applicable=False, because=because)
    rests_on: list[Ground] = [refrigerant.composition_ground]
    if not refrigerant.is_ozone_depleting:
        rests_on += [least_gwp, refrigerant.gwp_ar4_ground]
    bound = docket.row("more_than_full_charge", on)
    is_more = state.full_charge_mg - policy.RESOLUTION.value > bound.exact_mg
    because = (
        f"The full charge of {format_mass(state.full_charge_mg)} of {refrigerant} is "
        f"{'more' if is_more else 'not more'} than {bound.in_words}."
    )
    if is_more:
        because += _registration(docket, on)
    return _answer(is_applicable=is_more, because=because, rests_on=(bound, *rests_on))


def _registration(docket: Docket, on: date) -> str:
    """When the facility registers with the state, where the installation is known; no obligation follows it."""
    installed_on = docket.timeline.appliance.installed_on
    if installed_on is None:
        return ""
    row = docket.row("registration", on)
    month, day = (int(part) for part in row.value.split("-"))
    by = date(installed_on.year + 1, month, day)
    return f" {policy.REGISTRATION_IS_OF_THE_FACILITY.sentence}, by {by} ({row.citation})."


def _answer(*, is_applicable: bool, because: str, rests_on: tuple[Ground, ...] = ()) -> RuleVerdict:
    return RuleVerdict(US_CALIFORNIA, is_applicable, _CITATION, because, rests_on)
