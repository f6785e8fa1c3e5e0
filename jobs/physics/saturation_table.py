"""Reads the table of saturated states, so that no page needs CoolProp, which takes seconds and 70 MB to load."""

import bisect
import csv
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, cached_property
from typing import ClassVar

from jobs.physics.fluids import TABLES, ZERO_CELSIUS_K, Fluid, Model, find

SATURATION = TABLES / "saturation.csv"

# What interpolating adds to the equation's own error, at most; a test holds it.
INTERPOLATION_DOUBT = 0.0005

# Halvings of a temperature span of 300 K: down to a billionth of a kelvin.
_HALVINGS = 40


@dataclass(frozen=True)
class SaturationRow:
    """A refrigerant at saturation at one temperature, as in ``fixtures/physics/saturation.csv``."""

    COLUMNS: ClassVar[tuple[str, ...]] = (
        "refrigerant",
        "temperature_c",
        "liquid_density_kg_m3",
        "vapour_density_kg_m3",
        "bubble_pressure_kpa",
        "dew_pressure_kpa",
        "model",
        "coolprop_version",
        "accuracy",
    )

    refrigerant: str
    temperature_c: float
    liquid_density_kg_m3: float
    vapour_density_kg_m3: float | None
    bubble_pressure_kpa: float | None
    dew_pressure_kpa: float | None
    model: Model
    coolprop_version: str
    accuracy: str

    def as_csv(self) -> tuple[str, ...]:
        """The row as written: temperature in 2 decimals, the rest in 7 figures; empty where one is unknown."""
        figures = (self.vapour_density_kg_m3, self.bubble_pressure_kpa, self.dew_pressure_kpa)
        return (
            self.refrigerant,
            f"{self.temperature_c:.2f}",
            f"{self.liquid_density_kg_m3:.3f}",
            *("" if figure is None else f"{figure:.7g}" for figure in figures),
            str(self.model),
            self.coolprop_version,
            self.accuracy,
        )


@dataclass(frozen=True)
class TabledState:
    """A refrigerant at saturation: pressures in Pa absolute, densities in kg/m³.

    The liquid stands at its bubble point, the vapour at its dew point, both at the temperature asked for.
    """

    bubble_pa: float
    dew_pa: float
    liquid_density_kg_m3: float
    vapour_density_kg_m3: float


@dataclass(frozen=True)
class SaturationTable:
    """The saturated states of one refrigerant along its temperatures, rising.

    Liquid densities are kept as printed, so that fill limits are reckoned without binary rounding. ``bubble_pa``,
    ``dew_pa`` and ``vapour_densities_kg_m3`` are empty where the mixing parameters are estimated.
    """

    critical_c: float
    temperatures_c: tuple[float, ...]
    densities_kg_m3: tuple[Decimal, ...]
    vapour_densities_kg_m3: tuple[float, ...]
    bubble_pa: tuple[float, ...]
    dew_pa: tuple[float, ...]

    def density_kg_m3(self, temperature_c: float) -> Decimal:
        """The liquid's density at a temperature of the table; KeyError elsewhere."""
        return self.densities_kg_m3[self._at(temperature_c)]

    def bubble_pressure_kpa(self, temperature_c: float) -> float | None:
        """The bubble pressure (absolute) at a temperature of the table, None where unknown; KeyError elsewhere."""
        position = self._at(temperature_c)
        return self.bubble_pa[position] / 1000 if self.bubble_pa else None

    def temperature_c(self, density_kg_m3: float) -> float | None:
        """The temperature at which the saturated liquid has this density; None beyond the table.

        Temperature is a smooth function of density even near the critical point, where density of temperature is not:
        a cubic through the four nearest rows is within 0.02 K.
        """
        rising = [-float(density) for density in self.densities_kg_m3]
        return _cubic(rising, self.temperatures_c, -density_kg_m3)

    def pressures_pa(self, temperature_c: float) -> tuple[float, float] | None:
        """Bubble and dew pressure, Pa absolute, within 0.05 % of the equation's; None where they aren't known."""
        state = self.state(temperature_c)
        return None if state is None else (state.bubble_pa, state.dew_pa)

    def state(self, temperature_c: float) -> TabledState | None:
        """The saturated state, within 0.05 % of the equation's; None beyond the table or where pressure is unknown."""
        if not self.bubble_pa or not self.temperatures_c[0] <= temperature_c <= self.temperatures_c[-1]:
            return None
        inverse, root = _inverse(temperature_c), self._root(temperature_c)
        return TabledState(
            bubble_pa=math.exp(_cubic_within(self._inverses, self._bubble_logs, inverse)),
            dew_pa=math.exp(_cubic_within(self._inverses, self._dew_logs, inverse)),
            liquid_density_kg_m3=_cubic_within(self._roots, self._liquid_densities, root),
            vapour_density_kg_m3=math.exp(_cubic_within(self._roots, self._vapour_logs, root)),
        )

    def bubble_temperature_c(self, pressure_pa: float) -> float | None:
        """The temperature of the bubble point at an absolute pressure; None beyond the table."""
        return self._temperature_of(lambda state: state.bubble_pa, pressure_pa)

    def dew_temperature_c(self, pressure_pa: float) -> float | None:
        """The temperature of the dew point at an absolute pressure; None beyond the table."""
        return self._temperature_of(lambda state: state.dew_pa, pressure_pa)

    def _temperature_of(self, pressure: Callable[[TabledState], float], pressure_pa: float) -> float | None:
        cold_c, hot_c = self.temperatures_c[0], self.temperatures_c[-1]
        ends = self.state(cold_c), self.state(hot_c)
        if ends[0] is None or ends[1] is None:
            return None
        if not pressure(ends[0]) <= pressure_pa <= pressure(ends[1]):
            return None
        for _ in range(_HALVINGS):
            middle_c = (cold_c + hot_c) / 2
            state = self.state(middle_c)
            if state is not None and pressure(state) < pressure_pa:
                cold_c = middle_c
            else:
                hot_c = middle_c
        return (cold_c + hot_c) / 2

    # The logarithm of pressure is almost straight against one over temperature. Densities bend sharply towards the
    # critical temperature, but are almost straight against the cube root of the distance from it.

    @cached_property
    def _inverses(self) -> list[float]:
        return [_inverse(temperature_c) for temperature_c in self.temperatures_c]

    @cached_property
    def _roots(self) -> list[float]:
        return [self._root(temperature_c) for temperature_c in self.temperatures_c]

    @cached_property
    def _bubble_logs(self) -> list[float]:
        return [math.log(pressure_pa) for pressure_pa in self.bubble_pa]

    @cached_property
    def _dew_logs(self) -> list[float]:
        return [math.log(pressure_pa) for pressure_pa in self.dew_pa]

    @cached_property
    def _liquid_densities(self) -> list[float]:
        return [float(density) for density in self.densities_kg_m3]

    @cached_property
    def _vapour_logs(self) -> list[float]:
        return [math.log(density) for density in self.vapour_densities_kg_m3]

    def _root(self, temperature_c: float) -> float:
        return -float((self.critical_c - temperature_c) ** (1 / 3))

    def _at(self, temperature_c: float) -> int:
        try:
            return self.temperatures_c.index(temperature_c)
        except ValueError:
            raise KeyError(temperature_c) from None


def saturation_table(fluid: Fluid) -> SaturationTable:
    """The table of one refrigerant."""
    return _by_designation()[fluid.designation]


def saturation_rows() -> list[SaturationRow]:
    """Every row of the table, in its order."""
    with SATURATION.open(encoding="utf-8", newline="") as file:
        return [_from_row(row) for row in csv.DictReader(file)]


@cache
def table_version() -> str:
    """The version of CoolProp that the table was computed with."""
    return saturation_rows()[0].coolprop_version


@cache
def _by_designation() -> dict[str, SaturationTable]:
    grouped: dict[str, list[SaturationRow]] = {}
    for row in saturation_rows():
        grouped.setdefault(row.refrigerant, []).append(row)
    return {designation: _table(designation, rows) for designation, rows in grouped.items()}


def _table(designation: str, rows: list[SaturationRow]) -> SaturationTable:
    return SaturationTable(
        critical_c=find(designation).critical_c,
        temperatures_c=tuple(row.temperature_c for row in rows),
        densities_kg_m3=tuple(Decimal(f"{row.liquid_density_kg_m3:.3f}") for row in rows),
        vapour_densities_kg_m3=tuple(
            row.vapour_density_kg_m3 for row in rows if row.vapour_density_kg_m3 is not None
        ),
        bubble_pa=tuple(
            row.bubble_pressure_kpa * 1000 for row in rows if row.bubble_pressure_kpa is not None
        ),
        dew_pa=tuple(row.dew_pressure_kpa * 1000 for row in rows if row.dew_pressure_kpa is not None),
    )


def _from_row(row: dict[str, str]) -> SaturationRow:
    return SaturationRow(
        refrigerant=row["refrigerant"],
        temperature_c=float(row["temperature_c"]),
        liquid_density_kg_m3=float(row["liquid_density_kg_m3"]),
        vapour_density_kg_m3=_optional(row["vapour_density_kg_m3"]),
        bubble_pressure_kpa=_optional(row["bubble_pressure_kpa"]),
        dew_pressure_kpa=_optional(row["dew_pressure_kpa"]),
        model=Model(row["model"]),
        coolprop_version=row["coolprop_version"],
        accuracy=row["accuracy"],
    )


def _optional(figure: str) -> float | None:
    return float(figure) if figure else None


def _inverse(temperature_c: float) -> float:
    return -1 / (temperature_c + ZERO_CELSIUS_K)


def _cubic(xs: Sequence[float], ys: Sequence[float], x: float) -> float | None:
    """The cubic through the four points nearest to ``x``; None beyond the ends of rising ``xs``."""
    return _cubic_within(xs, ys, x) if xs[0] <= x <= xs[-1] else None


def _cubic_within(xs: Sequence[float], ys: Sequence[float], x: float) -> float:
    """The cubic through the four points nearest to ``x`` (Lagrange's form), which lies between the ends of ``xs``."""
    start = min(max(bisect.bisect_left(xs, x) - 2, 0), max(len(xs) - 4, 0))
    total = 0.0
    for i in range(start, min(start + 4, len(xs))):
        others = [xs[j] for j in range(start, min(start + 4, len(xs))) if j != i]
        total += ys[i] * math.prod((x - other) / (xs[i] - other) for other in others)
    return total
