"""Which parts of a refrigerant are fluorinated gases of which annex of European and British law."""

from datetime import date
from fractions import Fraction
from functools import cache

from compliance.rulebook.grounds import Ground
from compliance.rulebook.refrigerants import Refrigerant, all_refrigerants
from compliance.rulebook.tables import Tables


def holds_annex_i(rule: str, refrigerant: Refrigerant, tables: Tables, on: date) -> bool:
    """Whether a hydrofluorocarbon or perfluorocarbon of Annex I is in it."""
    return any(
        component in _hydrofluorocarbons()
        or is_listed(rule, "annex_i_perfluorocarbon", component, tables, on)
        for component, _ in refrigerant.composition
    )


def annex_i_rests_on(rule: str, refrigerant: Refrigerant, tables: Tables, on: date) -> tuple[Ground, ...]:
    """What ``holds_annex_i`` was answered by: the composition, and the list where no hydrofluorocarbon is in it."""
    components = [component for component, _ in refrigerant.composition]
    if not _hydrofluorocarbons().isdisjoint(components):
        return (refrigerant.composition_ground,)
    return (
        refrigerant.composition_ground,
        *_listed(rule, "annex_i_perfluorocarbon", refrigerant, tables, on),
    )


def part_rests_on(
    rule: str, key: str, refrigerant: Refrigerant, tables: Tables, on: date
) -> tuple[Ground, ...]:
    """What ``part_of`` was answered by: the composition and the list."""
    return (refrigerant.composition_ground, *_listed(rule, key, refrigerant, tables, on))


def _listed(rule: str, key: str, refrigerant: Refrigerant, tables: Tables, on: date) -> list[Ground]:
    found = (tables.find(rule, key, on=on, category=component) for component, _ in refrigerant.composition)
    return [row for row in found if row is not None]


@cache
def _hydrofluorocarbons() -> frozenset[str]:
    return frozenset(
        substance.designation
        for substance in all_refrigerants()
        if substance.contains_hfc and len(substance.composition) == 1
    )


def is_fluorinated(rule: str, refrigerant: Refrigerant, tables: Tables, on: date) -> bool:
    """Whether the rule counts it as a fluorinated greenhouse gas; ozone-depleting blends have other regulations."""
    if refrigerant.is_ozone_depleting:
        return False
    return holds_annex_i(rule, refrigerant, tables, on) or any(
        is_listed(rule, "annex_ii_section_1", component, tables, on)
        for component, _ in refrigerant.composition
    )


def part_of(rule: str, key: str, refrigerant: Refrigerant, tables: Tables, on: date) -> Fraction:
    """The mass fraction of a refrigerant's components that the rule lists under a key."""
    listed = [
        Fraction(mass_pct) / 100
        for component, mass_pct in refrigerant.composition
        if is_listed(rule, key, component, tables, on)
    ]
    return sum(listed, Fraction(0))


def is_listed(rule: str, key: str, component: str, tables: Tables, on: date) -> bool:
    """Whether the rule's table has a row of that key for the substance."""
    return tables.find(rule, key, on=on, category=component) is not None
