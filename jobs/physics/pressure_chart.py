"""The chart that hangs in a van: what a gauge reads at each temperature, at the altitude where it is read."""

import math
from dataclasses import dataclass

from jobs.physics.fluids import find
from jobs.physics.gauge_readings import GaugeReading
from jobs.physics.pressures import STANDARD_ATMOSPHERE_PA
from jobs.physics.saturation import has_known_pressure
from jobs.physics.saturation_table import saturation_table
from jobs.physics.tabled_saturation import tabled_model, tabled_state

STEP_F = 2
_LOWEST_F, _HIGHEST_F = -40, 150
_SPAN_F = _HIGHEST_F - _LOWEST_F

# Below this much glide (K) one column serves: the two pressures differ by less than a field gauge shows.
_GLIDE_THAT_SHOWS_K = 0.3


@dataclass(frozen=True)
class ChartRow:
    """One line of the chart: a temperature, °F, and what a gauge shows at the bubble and at the dew point."""

    temperature_f: int
    bubble: GaugeReading
    dew: GaugeReading

    @property
    def temperature_c(self) -> float:
        """The same in °C."""
        return (self.temperature_f - 32) / 1.8


@dataclass(frozen=True)
class PressureChart:
    """A refrigerant's chart.

    Attributes:
        refrigerant: ASHRAE 34 designation.
        atmosphere_pa: around the gauge, Pa absolute.
        rows: by temperature, rising.
        has_glide: whether bubble and dew point differ by more than 0.3 K anywhere on it.
        model: how the pressures were reckoned.
        accuracy: what is known of their error, with the source.
    """

    refrigerant: str
    atmosphere_pa: float
    rows: tuple[ChartRow, ...]
    has_glide: bool
    model: str
    accuracy: str

    def columns(self, count: int) -> list[tuple[ChartRow, ...]]:
        """The rows in so many columns of equal height, read downwards."""
        height = math.ceil(len(self.rows) / count)
        return [self.rows[start : start + height] for start in range(0, len(self.rows), height)]


def pressure_chart(refrigerant: str, atmosphere_pa: float = STANDARD_ATMOSPHERE_PA) -> PressureChart:
    """Draws up the chart of a refrigerant, every 2 °F over the temperatures that it works at.

    From -40 to 150 °F; where the critical temperature (less 3 K) lies lower, as many degrees below that.

    Args:
        refrigerant: ASHRAE 34 designation.
        atmosphere_pa: around the gauge, absolute.

    Raises:
        InvalidInput: unknown refrigerant, or a blend whose pressure is not known.

    Source: ``fixtures/physics/saturation.csv``.
    """
    fluid = has_known_pressure(find(refrigerant))
    table = saturation_table(fluid)
    highest_f = _even_below(min(_fahrenheit(table.temperatures_c[-1]), _HIGHEST_F))
    lowest_f = -_even_below(-max(_fahrenheit(table.temperatures_c[0]), min(_LOWEST_F, highest_f - _SPAN_F)))
    rows, glides_k = [], []
    for temperature_f in range(lowest_f, highest_f + 1, STEP_F):
        state = tabled_state(fluid, (temperature_f - 32) / 1.8)
        rows.append(
            ChartRow(
                temperature_f,
                GaugeReading(state.bubble_pa, atmosphere_pa),
                GaugeReading(state.dew_pa, atmosphere_pa),
            )
        )
        dew_at_bubble_c = table.dew_temperature_c(state.bubble_pa)
        if dew_at_bubble_c is not None:
            glides_k.append(dew_at_bubble_c - (temperature_f - 32) / 1.8)
    return PressureChart(
        refrigerant=fluid.designation,
        atmosphere_pa=atmosphere_pa,
        rows=tuple(rows),
        has_glide=max(glides_k) > _GLIDE_THAT_SHOWS_K,
        model=tabled_model(fluid),
        accuracy=fluid.accuracy,
    )


def _even_below(fahrenheit: float) -> int:
    return math.floor(fahrenheit / STEP_F) * STEP_F


def _fahrenheit(celsius: float) -> float:
    return celsius * 1.8 + 32
