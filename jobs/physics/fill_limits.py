"""How much refrigerant a cylinder may hold, from the density of its liquid, which is read from a table."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from jobs.physics.errors import InvalidInput
from jobs.physics.filling_densities import listed_filling_density_pct
from jobs.physics.fluids import Fluid, find
from jobs.physics.pressures import gauge_psi
from jobs.physics.saturation_table import SaturationTable, saturation_table
from jobs.physics.tabled_saturation import tabled_model

# Water at 25 °C: what a stamped water capacity weighs (CRC Handbook of Chemistry and Physics, from memory).
WATER_DENSITY_KG_M3 = Fraction("997.05")

# Liquid share of the volume, in percent, that may not be exceeded at a temperature in °C. The first is AHRI Guideline K
# (0.80 of the volume at 77 °F); the others keep the cylinder from becoming liquid-full (ADR 4.3.3.2.2: 95 % at 50 °C,
# and the vapour phase may not vanish below 60 °C). By the first alone several are liquid-full before 60 °C.
LIQUID_SHARES_PCT = {25: 80, 50: 95, 60: 100}
_HOTTEST_C = max(LIQUID_SHARES_PCT)

# As filled for transport, liquid may not fill the cylinder at 55 °C, 131 °F (49 CFR 173.304(b), from memory).
SUPPLIED_SHARES_PCT = {55: 100}

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
    """

    max_net_mg: int
    governed_by: str
    because: str
    caution: str
    is_estimated: bool
    liquid_full_at_c: float | None
    model: str
    accuracy: str


@dataclass(frozen=True)
class _Bound:
    """One of the limits on one refrigerant: kilograms per cubic metre of the cylinder, and how it came about."""

    kg_m3: Fraction
    name: str
    reckoning: str


def max_net_mg(refrigerant: str, water_capacity_mg: int) -> FillLimit:
    """Says how much of one refrigerant a cylinder may hold.

    The least of 80 % of the volume in liquid at 25 °C, 95 % at 50 °C and 100 % at 60 °C, never above a listed filling
    density. The volume is the water capacity over 997.05 kg/m³. Where 60 °C is within 3 K of the critical temperature,
    or above it, a listed filling density governs alone.

    Args:
        refrigerant: ASHRAE 34 designation.
        water_capacity_mg: mass of water that fills the cylinder, mg.

    Returns:
        The limit; its mass is rounded down to a whole milligram.

    Raises:
        InvalidInput: unknown refrigerant, a capacity that is not above zero, or no limit known for the refrigerant.

    Source: AHRI Guideline K (80 % at 77 °F), 49 CFR 173.304a(a)(2) (listed densities), ADR 4.3.3.2.2 (50 and 60 °C).

    Example:
        >>> max_net_mg("R-410A", 21_636_356).governed_by
        '100 % at 60 °C'
    """
    return mixed_max_net_mg([refrigerant], water_capacity_mg)


def mixed_max_net_mg(refrigerants: Sequence[str], water_capacity_mg: int) -> FillLimit:
    """Says how much a cylinder may hold of a mixture of these refrigerants in unknown shares.

    With several, 0.99 times the least dense governs: the least of the limits of each alone, times 0.99. With one (or
    the same one repeated) it is :func:`max_net_mg`.

    Args:
        refrigerants: ASHRAE 34 designations, at least one.
        water_capacity_mg: mass of water that fills the cylinder, mg.

    Raises:
        InvalidInput: as :func:`max_net_mg`, or no refrigerant at all.
    """
    fluids = list(dict.fromkeys(find(refrigerant) for refrigerant in refrigerants))
    if not fluids:
        raise InvalidInput("refrigerant", None, "at least one refrigerant")
    _check_capacity(water_capacity_mg)
    bounds = {fluid: _bounds(fluid, LIQUID_SHARES_PCT) for fluid in fluids}
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
        model=tabled_model(fluid) if fluid.is_liquid_at(_HOTTEST_C) else f"The {LISTED} alone",
        accuracy=fluid.accuracy if fluid.is_liquid_at(_HOTTEST_C) else "No equation is involved.",
    )


def supplied_max_net_mg(refrigerant: str, water_capacity_mg: int) -> int:
    """Says how much of one refrigerant a supplier may have filled a cylinder with, mg, rounded down.

    Liquid may not fill it at 55 °C, and a listed filling density may not be exceeded. This is what the transport rules
    allow whoever fills it, more than :func:`max_net_mg` lets us fill: no limit to fill to.

    Args:
        refrigerant: ASHRAE 34 designation.
        water_capacity_mg: mass of water that fills the cylinder, mg.

    Raises:
        InvalidInput: as :func:`max_net_mg`.

    Source: 49 CFR 173.304(b) (55 °C, from memory), 49 CFR 173.304a(a)(2) (listed densities).

    Example:
        >>> supplied_max_net_mg("R-744", 100_000_000)
        68000000
    """
    _check_capacity(water_capacity_mg)
    least = min(bound.kg_m3 for bound in _bounds(find(refrigerant), SUPPLIED_SHARES_PCT))
    return _mass_mg(least, water_capacity_mg)


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


def _bounds(fluid: Fluid, shares_pct: Mapping[int, int]) -> list[_Bound]:
    """Every limit that holds for one refrigerant: shares of the volume in liquid, by °C, and a listed density."""
    bounds = []
    if fluid.is_liquid_at(_HOTTEST_C):
        table = saturation_table(fluid)
        bounds = [_liquid_bound(fluid, table, at_c, pct) for at_c, pct in shares_pct.items()]
    pct = listed_filling_density_pct(fluid.designation)
    if pct is not None:
        kg_m3 = Fraction(pct, 100) * WATER_DENSITY_KG_M3
        bounds.append(
            _Bound(kg_m3, LISTED, f"{LISTED}: {pct} % of {_figure(WATER_DENSITY_KG_M3)} kg/m³ of water")
        )
    if not bounds:
        expected = (
            f"a refrigerant with a known fill limit; {fluid.designation} is not surely liquid at {_HOTTEST_C} °C "
            f"(critical at {fluid.critical_c:.1f} °C) and 49 CFR 173.304a(a)(2) has no filling density on record for it"
        )
        raise InvalidInput("refrigerant", fluid.designation, expected)
    return bounds


def _liquid_bound(fluid: Fluid, table: SaturationTable, at_c: int, pct: int) -> _Bound:
    density = table.density_kg_m3(at_c)
    kg_m3 = Fraction(pct, 100) * Fraction(density)
    reckoning = f"{pct} % of the volume in liquid of {density} kg/m³ at {at_c} °C"
    if fluid.is_estimated:
        kg_m3 *= ESTIMATE_SHARE
        reckoning += f", less {_figure(100 - 100 * ESTIMATE_SHARE)} % because that density is estimated"
    return _Bound(kg_m3, f"{pct} % at {at_c} °C", reckoning)


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
