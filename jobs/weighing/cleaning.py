"""Takes out of a log what isn't refrigerant: bumps are left out, tare shifts taken back."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from jobs.weighing.log import WeighLog
from jobs.weighing.offsets import measured
from jobs.weighing.returns import came_back
from jobs.weighing.shifts import FASTEST_MG_PER_S, Shift, excursions, find_shifts
from jobs.weighing.smoothing import Floats
from jobs.weighing.spikes import acquitted, find_spikes, on_the_way

_MOST_LOOKS = 8
# A jump that is still there after this time is none of a bump's.
_LASTS_S, _LASTS_READINGS = 30.0, 9


@dataclass(frozen=True, eq=False)
class CleanedLog:
    """The readings without bumps and with tare shifts taken back.

    Args:
        interval_s: the usual time between two readings of the log.
        is_spike: whether a reading belongs to a bump, shape (n,).
        kept: indices of the readings that don't, shape (m,).
        times_s: of the readings kept.
        weights_mg: of the readings kept, tare shifts taken back.
        shifts: what was taken back, and where the scale was stuck; their indices count the readings kept.
    """

    interval_s: float
    is_spike: NDArray[np.bool_]
    kept: NDArray[np.intp]
    times_s: Floats
    weights_mg: Floats
    shifts: tuple[Shift, ...]

    def part(self, span: slice) -> "CleanedLog":
        """Some of the readings kept, with the shifts among them."""
        shifts = tuple(
            replace(shift, before=shift.before - span.start, after=shift.after - span.start)
            for shift in self.shifts
            if span.start <= shift.before and shift.after < span.stop
        )
        return replace(
            self,
            kept=self.kept[span],
            times_s=self.times_s[span],
            weights_mg=self.weights_mg[span],
            shifts=shifts,
        )


def clean(log: WeighLog, division_mg: float, sign: int) -> CleanedLog:
    """Finds bumps and jumps, each in the light of the other until nothing new turns up.

    Args:
        log: as read.
        division_mg: of the scale.
        sign: of the flow where somebody states it, else 0.
    """
    weights_mg = log.weights_mg.astype(np.float64)
    steps_s = np.diff(log.times_s)
    interval_s = float(np.median(steps_s[steps_s > 0]))
    settings = (interval_s, division_mg, sign)
    is_away, is_off = (np.zeros(len(weights_mg), dtype=bool) for _ in range(2))
    for _ in range(_MOST_LOOKS):
        away, off = _bumps(log.times_s, weights_mg, is_away | is_off, settings)
        if not (away | off).any():
            break
        is_away, is_off = is_away | away, is_off | off
    is_spike = is_away | _still_off(log.times_s, weights_mg, is_away, is_off, settings)
    is_spike &= ~on_the_way(weights_mg, is_spike)
    kept = np.flatnonzero(~is_spike)
    times_s, kept_mg = log.times_s[kept], weights_mg[kept]
    shifts = measured(times_s, kept_mg, find_shifts(times_s, kept_mg, division_mg, sign), division_mg)
    return CleanedLog(interval_s, is_spike, kept, times_s, taken_back(kept_mg, shifts), tuple(shifts))


def taken_back(weights_mg: Floats, shifts: list[Shift]) -> Floats:
    """The readings as they would be had nobody shifted the tare."""
    level_mg = weights_mg.copy()
    for shift in shifts:
        level_mg[shift.after :] -= shift.offset_mg
    return level_mg


def off_at_ends_mg(log: WeighLog, kept: NDArray[np.intp], risen_mg: float) -> list[float]:
    """How far the readings left out at the log's beginning and end stood off, where they may have been flow.

    Args:
        log: as read.
        kept: indices of the readings that belong to no bump, shape (m,).
        risen_mg: what flowed, signed as the scale sees it.
    """
    last = log.samples - 1
    found = []
    for first, end in ((0, int(kept[0])), (int(kept[-1]), last)):
        off_mg = float(log.weights_mg[end] - log.weights_mg[first])
        took_s = float(log.times_s[end] - log.times_s[first])
        if off_mg * risen_mg > 0 and abs(off_mg) <= FASTEST_MG_PER_S * took_s:
            found.append(off_mg)
    return found


def _bumps(
    times_s: Floats, weights_mg: Floats, is_known: NDArray[np.bool_], settings: tuple[float, float, int]
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Readings between jumps that undo each other, and, once there are none, those that stand out of the trend."""
    interval_s, division_mg, sign = settings
    kept = np.flatnonzero(~is_known)
    kept_s, kept_mg = times_s[kept], weights_mg[kept]
    shifts = find_shifts(kept_s, kept_mg, division_mg, sign)
    is_away, is_off = (np.zeros(len(times_s), dtype=bool) for _ in range(2))
    # The shorter of the two first: of two bumps a minute apart, the end of one and the beginning of the other may be
    # about as large.
    away = came_back(kept_s, kept_mg, np.diff(kept) > 1, shifts, division_mg)
    away = away or excursions(kept_s, shifts, division_mg)
    for first, end in away:
        is_away[kept[first:end]] = True
    if not away:
        lasting = [shift for shift in shifts if _is_lasting(kept_s, kept_mg, shift)]
        is_off[kept[find_spikes(kept_s, taken_back(kept_mg, lasting), interval_s, division_mg)]] = True
    return is_away, is_off


def _still_off(
    times_s: Floats,
    weights_mg: Floats,
    is_away: NDArray[np.bool_],
    is_off: NDArray[np.bool_],
    settings: tuple[float, float, int],
) -> NDArray[np.bool_]:
    """The readings that stand out of the trend once all other bumps are left out and tare shifts taken back."""
    interval_s, division_mg, sign = settings
    kept = np.flatnonzero(~(is_away | is_off))
    offset_mg = np.zeros(len(times_s))
    for shift in find_shifts(times_s[kept], weights_mg[kept], division_mg, sign):
        offset_mg[kept[shift.after] :] += shift.offset_mg
    there = np.flatnonzero(~is_away)
    free = acquitted(times_s[there], (weights_mg - offset_mg)[there], is_off[there], interval_s, division_mg)
    is_still_off = is_off.copy()
    is_still_off[there[free]] = False
    return is_still_off


def _is_lasting(times_s: Floats, weights_mg: Floats, shift: Shift) -> bool:
    if not shift.offset_mg:
        return False
    readings = max(
        _LASTS_READINGS,
        int(np.searchsorted(times_s, times_s[shift.after] + _LASTS_S)) - shift.after,
    )
    before = weights_mg[max(0, shift.before + 1 - readings) : shift.before + 1]
    after = weights_mg[shift.after : shift.after + readings]
    change_mg = float(np.median(after) - np.median(before))
    return bool(0.5 <= change_mg / shift.offset_mg <= 2)  # noqa: PLR2004 -- about as large, flow or no flow
