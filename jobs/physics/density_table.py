"""Reads the table of saturated liquid densities, so that the web process needs no CoolProp for a fill limit."""

import bisect
import csv
import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import ClassVar

from jobs.physics.fluids import TABLES, ZERO_CELSIUS_K, Fluid, Model

LIQUID_DENSITIES = TABLES / "liquid_densities.csv"


@dataclass(frozen=True)
class DensityRow:
    """A saturated liquid at one temperature, as in ``fixtures/physics/liquid_densities.csv``."""

    COLUMNS: ClassVar[tuple[str, ...]] = (
        "refrigerant",
        "temperature_c",
        "liquid_density_kg_m3",
        "bubble_pressure_kpa",
        "dew_pressure_kpa",
        "model",
        "coolprop_version",
        "accuracy",
    )

    refrigerant: str
    temperature_c: float
    liquid_density_kg_m3: float
    bubble_pressure_kpa: float | None
    dew_pressure_kpa: float | None
    model: Model
    coolprop_version: str
    accuracy: str

    def as_csv(self) -> tuple[str, ...]:
        """The row as written: temperature in 2 decimals, density and pressures in 3; empty where one is unknown."""
        pressures = (self.bubble_pressure_kpa, self.dew_pressure_kpa)
        return (
            self.refrigerant,
            f"{self.temperature_c:.2f}",
            f"{self.liquid_density_kg_m3:.3f}",
            *("" if pressure_kpa is None else f"{pressure_kpa:.3f}" for pressure_kpa in pressures),
            str(self.model),
            self.coolprop_version,
            self.accuracy,
        )


@dataclass(frozen=True)
class LiquidDensities:
    """The saturated liquid of one refrigerant along its temperatures, rising, with the pressures that belong to them.

    Densities are kept as printed, so that limits are reckoned without binary rounding.
    """

    temperatures_c: tuple[float, ...]
    densities_kg_m3: tuple[Decimal, ...]
    bubble_pressures_kpa: tuple[float | None, ...]
    dew_pressures_kpa: tuple[float | None, ...]

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
        rising = [-float(density) for density in self.densities_kg_m3]
        return _cubic(rising, self.temperatures_c, -density_kg_m3)

    def pressures_pa(self, temperature_c: float) -> tuple[float, float] | None:
        """Bubble and dew pressure, Pa absolute, within 0.02 % of the equation's; None where they aren't known.

        The logarithm of pressure is almost straight against one over temperature.
        """
        rising = [-1 / (tabled_c + ZERO_CELSIUS_K) for tabled_c in self.temperatures_c]
        found = []
        for pressures_kpa in (self.bubble_pressures_kpa, self.dew_pressures_kpa):
            logarithms = [math.log(pressure * 1000) for pressure in pressures_kpa if pressure is not None]
            if len(logarithms) < len(rising):
                return None
            logarithm = _cubic(rising, logarithms, -1 / (temperature_c + ZERO_CELSIUS_K))
            if logarithm is None:
                return None
            found.append(math.exp(logarithm))
        return found[0], found[1]

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
            dew_pressures_kpa=tuple(row.dew_pressure_kpa for row in rows),
        )
        for designation, rows in grouped.items()
    }


def _from_row(row: dict[str, str]) -> DensityRow:
    return DensityRow(
        refrigerant=row["refrigerant"],
        temperature_c=float(row["temperature_c"]),
        liquid_density_kg_m3=float(row["liquid_density_kg_m3"]),
        bubble_pressure_kpa=_optional(row["bubble_pressure_kpa"]),
        dew_pressure_kpa=_optional(row["dew_pressure_kpa"]),
        model=Model(row["model"]),
        coolprop_version=row["coolprop_version"],
        accuracy=row["accuracy"],
    )


def _optional(figure: str) -> float | None:
    return float(figure) if figure else None


def _cubic(xs: Sequence[float], ys: Sequence[float], x: float) -> float | None:
    """The cubic through the four points nearest to ``x`` (Lagrange's form); None beyond the ends of rising ``xs``."""
    if not xs[0] <= x <= xs[-1]:
        return None
    start = min(max(bisect.bisect_left(xs, x) - 2, 0), max(len(xs) - 4, 0))
    total = 0.0
    for i in range(start, min(start + 4, len(xs))):
        others = [xs[j] for j in range(start, min(start + 4, len(xs))) if j != i]
        total += ys[i] * math.prod((x - other) / (xs[i] - other) for other in others)
    return total
