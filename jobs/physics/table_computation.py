"""Computes the table of saturated states that pages and fill limits read; run when CoolProp or a fluid changes."""

import csv
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from jobs.physics.equations import Equation, coolprop_version
from jobs.physics.fluids import Fluid, all_fluids
from jobs.physics.saturation_table import SATURATION, SaturationRow

# The fill limits need 25, 50, 55 and 60 °C exactly, all on this grid. Its steps are small enough for what lies between
# two of them to be within 0.05 %, and it reaches from the coldest cascade to the hottest cylinder.
_GRID_C = tuple(range(-90, 151, 5))

# Below this the densities of an estimated blend serve nobody.
_ESTIMATES_BEGIN_C = -20.0

# The solver of an estimated blend fails close to a critical point that is itself an estimate, and no limit lies there.
_ESTIMATES_END_BELOW_CRITICAL_K = 15.0

_MISSING_PAIR = re.compile(r"binary pair \[([\d-]+),([\d-]+)\]")

# The lower of CoolProp's two estimates of liquid density, hence the safer one for a fill limit.
_MIXING_RULE = "linear"


def compute_table(fluids: Iterable[Fluid] | None = None) -> Iterator[SaturationRow]:
    """Computes the rows of every refrigerant, with CoolProp.

    Blends whose binary parameters are missing are estimated; that sets the parameters for the whole process, so this is
    not called where pressures are asked.

    Args:
        fluids: which ones; all unless given.

    Returns:
        Rows by refrigerant and temperature: densities in kg/m³, pressures in kPa; of an estimated blend the liquid's
        density alone.
    """
    for fluid in all_fluids() if fluids is None else fluids:
        yield from _rows(fluid)


def write_table(path: Path = SATURATION) -> int:
    """Writes the table as CSV; returns how many rows it has."""
    rows = list(compute_table())
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(SaturationRow.COLUMNS)
        writer.writerows(row.as_csv() for row in rows)
    return len(rows)


def _rows(fluid: Fluid) -> Iterator[SaturationRow]:
    if fluid.is_estimated:
        _estimate_missing_pairs(fluid)
    equation = Equation(fluid)
    for temperature_c in _temperatures_c(fluid):
        liquid = equation.saturated_liquid(temperature_c)
        # An estimated pressure would be 5 to 15 % off.
        vapour = None if fluid.is_estimated else equation.saturated_vapour(temperature_c)
        yield SaturationRow(
            refrigerant=fluid.designation,
            temperature_c=temperature_c,
            liquid_density_kg_m3=liquid.density_kg_m3,
            vapour_density_kg_m3=None if vapour is None else vapour.density_kg_m3,
            bubble_pressure_kpa=None if vapour is None else liquid.pressure_pa / 1000,
            dew_pressure_kpa=None if vapour is None else vapour.pressure_pa / 1000,
            model=fluid.model,
            coolprop_version=coolprop_version(),
            accuracy=fluid.accuracy_key,
        )


def _temperatures_c(fluid: Fluid) -> list[float]:
    end_c = fluid.critical_c - _ESTIMATES_END_BELOW_CRITICAL_K if fluid.is_estimated else fluid.highest_c
    end_c = min(round(end_c, 2), _GRID_C[-1])
    start_c = max(fluid.lowest_c, _ESTIMATES_BEGIN_C) if fluid.is_estimated else fluid.lowest_c
    return [*(float(grid_c) for grid_c in _GRID_C if start_c <= grid_c < end_c), float(end_c)]


def _estimate_missing_pairs(fluid: Fluid) -> None:
    from CoolProp.CoolProp import apply_simple_mixing_rule  # noqa: PLC0415

    while True:
        try:
            Equation(fluid)
        except ValueError as error:
            missing = _MISSING_PAIR.search(str(error))
            if missing is None:
                raise
            first, second = missing.groups()
            apply_simple_mixing_rule(first, second, _MIXING_RULE)
        else:
            return
