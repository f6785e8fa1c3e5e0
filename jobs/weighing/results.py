"""What a weighing answers. Times are seconds since the first reading, masses whole milligrams."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

Direction = Literal["in", "out"]
AnomalyKind = Literal["gap", "spike", "tare_shift", "still_moving_at_end", "clock_went_back", "stuck"]
PhaseKind = Literal["liquid", "vapour", "pull_down"]


@dataclass(frozen=True)
class Anomaly:
    """Something in the log that isn't flow, and what was made of it; ``removed_mg`` of a tare shift, signed."""

    kind: AnomalyKind
    from_s: float
    to_s: float
    from_label: str
    to_label: str
    because: str
    removed_mg: int = 0


@dataclass(frozen=True)
class Plateau:
    """A stretch in which the scale stood still; its level is after tare shifts are removed."""

    from_s: float
    to_s: float
    level_mg: int
    spread_mg: int


@dataclass(frozen=True)
class Phase:
    """A stretch of a recovery with a rate of its own."""

    kind: PhaseKind
    from_s: float
    to_s: float


@dataclass(frozen=True)
class Weighing:
    """The net mass in a log, how sure it is, and why.

    Args:
        samples: readings in the log.
        starts_at: instant of the first reading, ``None`` where the file has no dates.
        ends_at: instant of the last reading, ``None`` where the file has no dates.
        starts_label: time of the first reading as the file has it.
        ends_label: time of the last reading as the file has it.
        gross_start_mg: what stood on the scale before the flow.
        gross_end_mg: what stood on it after the flow, after tare shifts are removed.
        net_mg: what flowed, never negative.
        uncertainty_mg: of the net mass, one standard deviation.
        duration_s: from the first to the last reading.
        mean_rate_kg_per_min: net mass over the duration.
        flow_from_s: when the flow began, ``None`` without flow.
        flow_to_s: when it ended.
        direction: ``in`` where the weight rose; ``None`` without flow, unless stated.
        division_mg: the scale's division that was reckoned with.
        anomalies: in order of time.
        plateaus: in order of time.
        phases: in order of time; empty where the curve shows none.
        because: how the net mass came about, in words to check by hand.
    """

    samples: int
    starts_at: datetime | None
    ends_at: datetime | None
    starts_label: str
    ends_label: str
    gross_start_mg: int
    gross_end_mg: int
    net_mg: int
    uncertainty_mg: int
    duration_s: float
    mean_rate_kg_per_min: float
    flow_from_s: float | None
    flow_to_s: float | None
    direction: Direction | None
    division_mg: int
    anomalies: tuple[Anomaly, ...]
    plateaus: tuple[Plateau, ...]
    phases: tuple[Phase, ...]
    because: str


@dataclass(frozen=True)
class Curve:
    """A log to draw: as many points as asked for at most, in order of time, spikes kept.

    Args:
        times_s: seconds since the first reading.
        weights_mg: what the scale showed.
        corrected_mg: the same after tare shifts are removed.
        rate_kg_per_min: how fast the weight rose (above zero) or fell, smoothed.
    """

    times_s: tuple[float, ...]
    weights_mg: tuple[int, ...]
    corrected_mg: tuple[int, ...]
    rate_kg_per_min: tuple[float, ...]
