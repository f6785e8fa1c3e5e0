"""Computes the table of saturated liquid densities that the fill limits read; run when CoolProp or a fluid changes."""

import csv
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from jobs.physics.density_table import LIQUID_DENSITIES, DensityRow
from jobs.physics.equations import Equation, coolprop_version
from jobs.physics.filling_densities import listed_filling_density_pct
from jobs.physics.fluids import Fluid, all_fluids

# The fill limits need 25, 50 and 60 °C exactly (all on this grid); the rest finds where a cylinder is liquid-full.
_GRID_C = tuple(range(-20, 151, 5))

# The solver of an estimated blend fails close to a critical point that is itself an estimate, and no limit lies there.
_ESTIMATES_END_BELOW_CRITICAL_K = 15.0

_MISSING_PAIR = re.compile(r"binary pair \[([\d-]+),([\d-]+)\]")

# The lower of CoolProp's two estimates of liquid density, hence the safer one for a fill limit.
_MIXING_RULE = "linear"


def compute_table(fluids: Iterable[Fluid] | None = None) -> Iterator[DensityRow]:
    """Computes the rows of every refrigerant that has a fill limit, with CoolProp.

    Blends whose binary parameters are missing are estimated; that sets the parameters for the whole process, so this is
    not called where pressures are asked.

    Args:
        fluids: which ones; all unless given.

    Returns:
        Rows by refrigerant and temperature: liquid density in kg/m³, bubble pressure in kPa.
    """
    for fluid in all_fluids() if fluids is None else fluids:
        if fluid.is_liquid_at(60) or listed_filling_density_pct(fluid.designation) is not None:
            yield from _rows(fluid)


def write_table(path: Path = LIQUID_DENSITIES) -> int:
    """Writes the table as CSV; returns how many rows it has."""
    rows = list(compute_table())
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(DensityRow.COLUMNS)
        writer.writerows(row.as_csv() for row in rows)
    return len(rows)


def _rows(fluid: Fluid) -> Iterator[DensityRow]:
    if fluid.is_estimated:
        _estimate_missing_pairs(fluid)
    equation = Equation(fluid)
    for temperature_c in _temperatures_c(fluid):
        liquid = equation.saturated_liquid(temperature_c)
        # An estimated pressure would be 5 to 15 % off.
        vapour = None if fluid.is_estimated else equation.saturated_vapour(temperature_c)
        yield DensityRow(
            refrigerant=fluid.designation,
            temperature_c=temperature_c,
            liquid_density_kg_m3=round(liquid.density_kg_m3, 3),
            bubble_pressure_kpa=None if vapour is None else round(liquid.pressure_pa / 1000, 3),
            dew_pressure_kpa=None if vapour is None else round(vapour.pressure_pa / 1000, 3),
            model=fluid.model,
            coolprop_version=coolprop_version(),
            accuracy=fluid.accuracy_key,
        )


def _temperatures_c(fluid: Fluid) -> list[float]:
    end_c = fluid.critical_c - _ESTIMATES_END_BELOW_CRITICAL_K if fluid.is_estimated else fluid.highest_c
    end_c = min(round(end_c, 2), _GRID_C[-1])
    return [*(float(grid_c) for grid_c in _GRID_C if fluid.lowest_c <= grid_c < end_c), float(end_c)]


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
