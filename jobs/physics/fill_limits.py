"""How much refrigerant a cylinder may hold, from the density of its liquid, which is read from a table."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from jobs.physics.errors import InvalidInput
from jobs.physics.fill_rules import OWN, SUPPLIED, FillRule, fill_rules
from jobs.physics.filling_densities import FillingDensity, listed_filling_density
from jobs.physics.fluids import Fluid, find
from jobs.physics.pressures import gauge_psi
from jobs.physics.saturation_table import SaturationTable, saturation_table
from jobs.physics.tabled_saturation import tabled_model

# Water at 25 °C: what a stamped water capacity weighs (CRC Handbook of Chemistry and Physics, from memory).
WATER_DENSITY_KG_M3 = Fraction("997.05")

LISTED = "filling density of 49 CFR 173.304a(a)(2)"

# A mixture of known refrigerants in unknown shares is at least this dense, against the least dense of them: in 13
# mixtures reckoned at 25 °C the least dense pure one was a lower bound within 0.01 %.
MIXED_SHARE = Fraction("0.99")

# An estimated liquid density was up to 3.3 % too high in 13 control pairs.
ESTIMATE_SHARE = Fraction("0.96")

# Where the vapour pressure is stated beside a limit: the temperature that US rules for cylinders use, 131 °F.
_PRESSURE_STATED_AT_C = 55

_CAUTION = (
    "Fill by weight on an accurate scale, never by pressure or by feel. A lower limit on the cylinder's label, in "
    "local rules or from its maker goes first; so do its service pressure and its requalification date. Oil makes "
    "recovered refrigerant lighter than this reckons: leave more room where it came with oil."
)
_MIXED_CAUTION = (
    "A mixture's pressure can exceed that of each refrigerant in it. "
    "A mixed cylinder goes to reclamation or destruction."
)


@dataclass(frozen=True)
class FillLimit:
    """The most that a cylinder may hold.

    Attributes:
        max_net_mg: net mass, mg, rounded down.
        governed_by: which of the limits is the least, such as ``100 % at 60 °C``.
        because: the arithmetic of every limit, in words and figures.
        caution: what the figure doesn't cover.
        is_estimated: whether a liquid density rests on estimated mixing parameters.
        liquid_full_at_c: temperature at which this mass would fill the cylinder with liquid, °C; None beyond the table.
        model: where the densities come from.
        accuracy: what is known of their error.
        doubts: which of the rules that it was held against were recalled from memory, each with its paragraph.
    """

    max_net_mg: int
    governed_by: str
    because: str
    caution: str
    is_estimated: bool
    liquid_full_at_c: float | None
    model: str
    accuracy: str
    doubts: tuple[str, ...]


@dataclass(frozen=True)
class _Bound:
    """One of the limits on one refrigerant: kilograms per cubic metre of the cylinder, how it came about, its row."""

    kg_m3: Fraction
    name: str
    reckoning: str
    row: FillRule | FillingDensity


def max_net_mg(refrigerant: str, water_capacity_mg: int, *, on: date | None = None) -> FillLimit:
    """Says how much of one refrigerant a cylinder may hold.

    The least of the shares of the volume in liquid that fixtures/physics/fill_rules.toml lists by temperature, never
    above a listed filling density. The volume is the water capacity over 997.05 kg/m³. Where the hottest of those
    temperatures is within 3 K of the critical one, or above it, a listed filling density governs alone.

    Args:
        refrigerant: ASHRAE 34 designation.
        water_capacity_mg: mass of water that fills the cylinder, mg.
        on: the day of the filling, whose rules count; those in force last unless given.

    Returns:
        The limit; its mass is rounded down to a whole milligram.

    Raises:
        InvalidInput: unknown refrigerant, a capacity that is not above zero, or no limit known for the refrigerant.

    Source: AHRI Guideline K (80 % at 77 °F), 49 CFR 173.304a(a)(2) (listed densities), ADR 4.3.3.2.2 (50 and 60 °C).

    Example:
        >>> max_net_mg("R-410A", 21_636_356).governed_by
        '100 % at 60 °C'
    """
    return mixed_max_net_mg([refrigerant], water_capacity_mg, on=on)


def mixed_max_net_mg(
    refrigerants: Sequence[str], water_capacity_mg: int, *, on: date | None = None
) -> FillLimit:
    """Says how much a cylinder may hold of a mixture of these refrigerants in unknown shares.

    With several, 0.99 times the least dense governs: the least of the limits of each alone, times 0.99. With one (or
    the same one repeated) it is :func:`max_net_mg`.

    Args:
        refrigerants: ASHRAE 34 designations, at least one.
        water_capacity_mg: mass of water that fills the cylinder, mg.
        on: as for :func:`max_net_mg`.

    Raises:
        InvalidInput: as :func:`max_net_mg`, or no refrigerant at all.
    """
    fluids = list(dict.fromkeys(find(refrigerant) for refrigerant in refrigerants))
    if not fluids:
        raise InvalidInput("refrigerant", None, "at least one refrigerant")
    _check_capacity(water_capacity_mg)
    rules = fill_rules(OWN, on)
    bounds = {fluid: _bounds(fluid, rules) for fluid in fluids}
    least = {fluid: min(bounds[fluid], key=lambda bound: bound.kg_m3) for fluid in fluids}
    fluid = min(fluids, key=lambda each: least[each].kg_m3)
    share = MIXED_SHARE if len(fluids) > 1 else Fraction(1)
    volume_m3 = Fraction(water_capacity_mg, 10**6) / WATER_DENSITY_KG_M3
    mass_mg = _mass_mg(least[fluid].kg_m3 * share, water_capacity_mg)
    return FillLimit(
        max_net_mg=mass_mg,
        governed_by=least[fluid].name,
        because=_because(fluid, bounds[fluid], least[fluid], volume_m3, mass_mg, len(fluids)),
        caution=_caution(fluids),
        is_estimated=any(each.is_estimated for each in fluids),
        liquid_full_at_c=_liquid_full_at_c(fluids, least[fluid].kg_m3),
        model=tabled_model(fluid) if fluid.is_liquid_at(_hottest_c()) else f"The {LISTED} alone",
        accuracy=fluid.accuracy if fluid.is_liquid_at(_hottest_c()) else "No equation is involved.",
        doubts=_doubts(bound for of_fluid in bounds.values() for bound in of_fluid),
    )


def supplied_max_net_mg(refrigerant: str, water_capacity_mg: int, *, on: date | None = None) -> int:
    """Says how much of one refrigerant a supplier may have filled a cylinder with, mg, rounded down.

    Liquid may not fill it at the temperature of fixtures/physics/fill_rules.toml, and a listed filling density may not
    be exceeded. This is what the transport rules allow whoever fills it, more than :func:`max_net_mg` lets us fill: no
    limit to fill to.

    Args:
        refrigerant: ASHRAE 34 designation.
        water_capacity_mg: mass of water that fills the cylinder, mg.
        on: as for :func:`max_net_mg`.

    Raises:
        InvalidInput: as :func:`max_net_mg`.

    Source: 49 CFR 173.304(b) (55 °C, from memory), 49 CFR 173.304a(a)(2) (listed densities).

    Example:
        >>> supplied_max_net_mg("R-744", 100_000_000)
        68000000
    """
    _check_capacity(water_capacity_mg)
    least = min(bound.kg_m3 for bound in _bounds(find(refrigerant), fill_rules(SUPPLIED, on)))
    return _mass_mg(least, water_capacity_mg)


def supplied_doubts(refrigerant: str, *, on: date | None = None) -> tuple[str, ...]:
    """Which of the rules behind :func:`supplied_max_net_mg` were recalled from memory, each with its paragraph.

    Raises:
        InvalidInput: as :func:`max_net_mg`.
    """
    return _doubts(_bounds(find(refrigerant), fill_rules(SUPPLIED, on)))


def water_mass_mg(litres: Fraction) -> int:
    """The mass of water that fills a volume, mg, rounded half up: a capacity stamped in litres as a water capacity."""
    return int(litres * WATER_DENSITY_KG_M3 * 1000 + Fraction(1, 2))


def _check_capacity(water_capacity_mg: int) -> None:
    if (
        isinstance(water_capacity_mg, bool)
        or not isinstance(water_capacity_mg, int)
        or water_capacity_mg <= 0
    ):
        raise InvalidInput("water_capacity", water_capacity_mg, "a water capacity above zero")


def _mass_mg(kg_m3: Fraction, water_capacity_mg: int) -> int:
    """What a cylinder holds at a loading, rounded down; a cubic metre of it is 997.05 kg of water capacity."""
    return int(kg_m3 * water_capacity_mg / WATER_DENSITY_KG_M3)


def _hottest_c() -> int:
    """The warmest temperature at which a rule asks for a liquid: what isn't one there has no limit by its density."""
    return max(rule.at_c for rule in fill_rules(OWN))


def _doubts(bounds: Iterable[_Bound]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(bound.row.doubt for bound in bounds if not bound.row.is_confirmed))


def _bounds(fluid: Fluid, rules: Sequence[FillRule]) -> list[_Bound]:
    """Every limit that holds for one refrigerant: shares of the volume in liquid, by °C, and a listed density."""
    bounds = []
    hottest_c = _hottest_c()
    if fluid.is_liquid_at(hottest_c):
        table = saturation_table(fluid)
        bounds = [_liquid_bound(fluid, table, rule) for rule in rules]
    listed = listed_filling_density(fluid.designation)
    if listed is not None:
        kg_m3 = Fraction(listed.pct, 100) * WATER_DENSITY_KG_M3
        reckoning = f"{LISTED}: {listed.pct} % of {_figure(WATER_DENSITY_KG_M3)} kg/m³ of water"
        bounds.append(_Bound(kg_m3, LISTED, reckoning, listed))
    if not bounds:
        expected = (
            f"a refrigerant with a known fill limit; {fluid.designation} is not surely liquid at {hottest_c} °C "
            f"(critical at {fluid.critical_c:.1f} °C) and 49 CFR 173.304a(a)(2) has no filling density on record for it"
        )
        raise InvalidInput("refrigerant", fluid.designation, expected)
    return bounds


def _liquid_bound(fluid: Fluid, table: SaturationTable, rule: FillRule) -> _Bound:
    density = table.density_kg_m3(rule.at_c)
    kg_m3 = Fraction(rule.liquid_share_pct, 100) * Fraction(density)
    reckoning = f"{rule.liquid_share_pct} % of the volume in liquid of {density} kg/m³ at {rule.at_c} °C"
    if fluid.is_estimated:
        kg_m3 *= ESTIMATE_SHARE
        reckoning += f", less {_figure(100 - 100 * ESTIMATE_SHARE)} % because that density is estimated"
    return _Bound(kg_m3, rule.in_words, reckoning, rule)


def _liquid_full_at_c(fluids: Sequence[Fluid], kg_m3: Fraction) -> float | None:
    """Where the first of the liquids, as dense as it is reckoned here, fills the volume at this loading.

    The factor for mixtures stands on both sides, density and loading, so it drops out.
    """
    temperatures = []
    for fluid in fluids:
        share = ESTIMATE_SHARE if fluid.is_estimated else Fraction(1)
        temperatures.append(saturation_table(fluid).temperature_c(float(kg_m3 / share)))
    known = [round(temperature, 1) for temperature in temperatures if temperature is not None]
    return min(known, default=None)


def _because(
    fluid: Fluid, bounds: Sequence[_Bound], least: _Bound, volume_m3: Fraction, mass_mg: int, fluid_count: int
) -> str:
    litres = volume_m3 * 1000
    reckonings = "; ".join(f"{bound.reckoning}: {_figure(bound.kg_m3 * volume_m3)} kg" for bound in bounds)
    words = f"The cylinder holds {_figure(litres)} L. {fluid.designation}: {reckonings}."
    if len(bounds) > 1:
        words += f" The least governs: {least.name}."
    if fluid_count > 1:
        words += (
            f" {fluid.designation} gives the least of the {fluid_count} refrigerants; the mixture gets "
            f"{_figure(MIXED_SHARE)} of it: {_figure(Fraction(mass_mg, 10**6))} kg."
        )
    return words


def _caution(fluids: Sequence[Fluid]) -> str:
    pressures = [_pressure_caution(fluid) for fluid in fluids]
    mixed = [_MIXED_CAUTION] if len(fluids) > 1 else []
    return " ".join([_CAUTION, *pressures, *mixed])


def _pressure_caution(fluid: Fluid) -> str:
    if not fluid.is_liquid_at(_PRESSURE_STATED_AT_C):
        return (
            f"{fluid.designation} has no liquid above {fluid.critical_c:.1f} °C and its pressure then rises steeply: "
            "only a cylinder of the service pressure that 49 CFR 173.304a(a)(2) requires for it may hold it."
        )
    pressure_kpa = saturation_table(fluid).bubble_pressure_kpa(_PRESSURE_STATED_AT_C)
    if pressure_kpa is None:
        return f"The pressure of {fluid.designation} is not known well enough to be given here; ask its maker for it."
    psig = gauge_psi(pressure_kpa * 1000)
    return (
        f"The cylinder must be rated for {fluid.designation}, which stands at {pressure_kpa:.0f} kPa absolute "
        f"({psig:.0f} psig) at {_PRESSURE_STATED_AT_C} °C."
    )


def _figure(value: Fraction | int) -> str:
    """Up to three decimals, for reading along."""
    return f"{float(value):.3f}".rstrip("0").rstrip(".")
