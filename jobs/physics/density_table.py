"""Reads the table of saturated liquid densities, so that the web process needs no CoolProp for a fill limit."""

import bisect
import csv
import math
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import ClassVar

from jobs.physics.fluids import TABLES, Fluid, Model

LIQUID_DENSITIES = TABLES / "liquid_densities.csv"


@dataclass(frozen=True)
class DensityRow:
    """A saturated liquid at one temperature, as in ``fixtures/physics/liquid_densities.csv``."""

    COLUMNS: ClassVar[tuple[str, ...]] = (
        "refrigerant",
        "temperature_c",
        "liquid_density_kg_m3",
        "bubble_pressure_kpa",
        "model",
        "coolprop_version",
        "accuracy",
    )

    refrigerant: str
    temperature_c: float
    liquid_density_kg_m3: float
    bubble_pressure_kpa: float | None
    model: Model
    coolprop_version: str
    accuracy: str

    def as_csv(self) -> tuple[str, ...]:
        """The row as written: temperature in 2 decimals, density in 3, pressure in 2 and empty where it is unknown."""
        pressure = "" if self.bubble_pressure_kpa is None else f"{self.bubble_pressure_kpa:.2f}"
        figures = (f"{self.temperature_c:.2f}", f"{self.liquid_density_kg_m3:.3f}", pressure)
        return (self.refrigerant, *figures, str(self.model), self.coolprop_version, self.accuracy)


@dataclass(frozen=True)
class LiquidDensities:
    """The saturated liquid of one refrigerant along its temperatures, rising.

    Densities are kept as printed, so that limits are reckoned without binary rounding.
    """

    temperatures_c: tuple[float, ...]
    densities_kg_m3: tuple[Decimal, ...]
    bubble_pressures_kpa: tuple[float | None, ...]

    def density_kg_m3(self, temperature_c: float) -> Decimal:
        """The density at a temperature of the table; KeyError elsewhere."""
        return self.densities_kg_m3[self._at(temperature_c)]

    def bubble_pressure_kpa(self, temperature_c: float) -> float | None:
        """The bubble pressure (absolute) at a temperature of the table, None where unknown; KeyError elsewhere."""
        return self.bubble_pressures_kpa[self._at(temperature_c)]

    def temperature_c(self, density_kg_m3: float) -> float | None:
        """The temperature at which the saturated liquid has this density; None beyond the table.

        Temperature is a smooth function of density even near the critical point, where density of temperature is not:
        a cubic through the four nearest rows is within 0.02 K.
        """
        falling = [float(density) for density in self.densities_kg_m3]
        if not falling[-1] <= density_kg_m3 <= falling[0]:
            return None
        after = bisect.bisect_left(falling, -density_kg_m3, key=lambda density: -density)
        start = min(max(after - 2, 0), max(len(falling) - 4, 0))
        return _lagrange(falling[start : start + 4], self.temperatures_c[start : start + 4], density_kg_m3)

    def _at(self, temperature_c: float) -> int:
        try:
            return self.temperatures_c.index(temperature_c)
        except ValueError:
            raise KeyError(temperature_c) from None


def liquid_densities(fluid: Fluid) -> LiquidDensities:
    """The table's rows of one refrigerant; KeyError where it has none, which is where no fill limit exists."""
    return _by_designation()[fluid.designation]


def density_rows() -> list[DensityRow]:
    """Every row of the table, in its order."""
    with LIQUID_DENSITIES.open(encoding="utf-8", newline="") as file:
        return [_from_row(row) for row in csv.DictReader(file)]


@cache
def _by_designation() -> dict[str, LiquidDensities]:
    grouped: dict[str, list[DensityRow]] = {}
    for row in density_rows():
        grouped.setdefault(row.refrigerant, []).append(row)
    return {
        designation: LiquidDensities(
            temperatures_c=tuple(row.temperature_c for row in rows),
            densities_kg_m3=tuple(Decimal(f"{row.liquid_density_kg_m3:.3f}") for row in rows),
            bubble_pressures_kpa=tuple(row.bubble_pressure_kpa for row in rows),
        )
        for designation, rows in grouped.items()
    }


def _from_row(row: dict[str, str]) -> DensityRow:
    return DensityRow(
        refrigerant=row["refrigerant"],
        temperature_c=float(row["temperature_c"]),
        liquid_density_kg_m3=float(row["liquid_density_kg_m3"]),
        bubble_pressure_kpa=float(row["bubble_pressure_kpa"]) if row["bubble_pressure_kpa"] else None,
        model=Model(row["model"]),
        coolprop_version=row["coolprop_version"],
        accuracy=row["accuracy"],
    )


def _lagrange(xs: list[float], ys: tuple[float, ...], x: float) -> float:
    total = 0.0
    for i, y in enumerate(ys):
        others = [other for j, other in enumerate(xs) if j != i]
        total += y * math.prod((x - other) / (xs[i] - other) for other in others)
    return total
