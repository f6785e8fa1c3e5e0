"""Names what was odd about a log, with the time in the file's own words and what was made of it."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from jobs.weighing.log import WeighLog
from jobs.weighing.masses import in_words, little_in_words
from jobs.weighing.plateaus import Stillness
from jobs.weighing.results import Anomaly, AnomalyKind
from jobs.weighing.shifts import Shift
from jobs.weighing.spikes import runs

_GAP_INTERVALS = 5.0
_GAP_LEAST_S = 2.0
_JOINED_S = 3.0


class Labels:
    """The times of a log by index, and anomalies between two of them."""

    def __init__(self, log: WeighLog) -> None:
        self.log = log

    def anomaly(
        self, kind: AnomalyKind, first: int, last: int, because: str, removed_mg: float = 0.0
    ) -> Anomaly:
        """An anomaly from one reading to another, both counted in."""
        times_s, texts = self.log.times_s, self.log.time_texts
        return Anomaly(
            kind,
            float(times_s[first]),
            float(times_s[last]),
            texts[first],
            texts[last],
            because,
            round(removed_mg),
        )


def clock_anomalies(labels: Labels, interval_s: float) -> list[Anomaly]:
    """Gaps between readings, and clocks that were put back."""
    steps_s = np.diff(labels.log.times_s)
    gaps = np.flatnonzero(steps_s > max(_GAP_INTERVALS * interval_s, _GAP_LEAST_S))
    found = [
        labels.anomaly(
            "gap",
            int(index),
            int(index) + 1,
            f"no reading for {steps_s[index]:.0f} s; usually there is one every {interval_s:.3g} s",
        )
        for index in gaps
    ]
    found += [
        labels.anomaly(
            "clock_went_back",
            index - 1,
            index,
            "the clock was put back; the readings are taken to go on at their usual interval",
        )
        for index in labels.log.went_back_at
    ]
    return found


def spike_anomalies(labels: Labels, is_spike: NDArray[np.bool_], interval_s: float) -> list[Anomaly]:
    """Bumps, those close to each other as one."""
    joined: list[tuple[int, int]] = []
    times_s = labels.log.times_s
    for first, end in runs(is_spike):
        if joined and times_s[first] - times_s[joined[-1][1] - 1] <= max(_JOINED_S, 2 * interval_s):
            joined[-1] = (joined[-1][0], end)
        else:
            joined.append((first, end))
    return [
        labels.anomaly(
            "spike",
            first,
            end - 1,
            "the reading left its trend and came back to it; these readings are left out",
        )
        for first, end in joined
    ]


def shift_anomalies(labels: Labels, kept: NDArray[np.intp], shifts: Sequence[Shift]) -> list[Anomaly]:
    """Jumps of the reading: the zero key, a load put on or taken off, a scale that stood frozen."""
    return [
        labels.anomaly(
            "stuck" if shift.kind == "stuck" else "tare_shift",
            int(kept[shift.before]),
            int(kept[shift.after]),
            _because(shift, labels.log.unit),
            shift.offset_mg,
        )
        for shift in shifts
    ]


def still_moving(labels: Labels, end: Stillness) -> Anomaly:
    """A log that was stopped while the weight was still moving."""
    last = labels.log.samples - 1
    a_minute = little_in_words(abs(end.slope_mg_per_s) * 60, labels.log.unit)
    return labels.anomaly(
        "still_moving_at_end",
        max(0, last - 1),
        last,
        f"the weight was still moving, by {a_minute} a minute, when the log ended; what flowed later isn't in it",
    )


def _because(shift: Shift, unit: str) -> str:
    levels = f"from {in_words(shift.from_level_mg, unit)} to {in_words(shift.to_level_mg, unit)}"
    if shift.kind == "stuck" and shift.uncertainty_mg:
        return (
            f"the reading stood frozen, then jumped {levels} and stood again: refrigerant that had flowed meanwhile, "
            "or something put on or taken off, which a log can't tell apart; nothing is removed, and the net mass is "
            "less sure for it"
        )
    if shift.kind == "stuck":
        return (
            f"the reading stood frozen while refrigerant flowed, then caught up {levels}; nothing is removed"
        )
    if shift.kind == "zeroed":
        return f"the reading jumped {levels}, as when the zero key is pressed; the jump is removed"
    return (
        f"the reading jumped {levels}, faster or other than refrigerant flows, and not to zero: a tare key, something "
        "put on or taken off, or another cylinder, which a log can't tell apart; the jump is removed"
    )
