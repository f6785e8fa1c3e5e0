"""From a scale's log to the net mass that flowed, how sure it is, and what was odd about the log."""

from typing import Literal

from jobs.weighing import uncertainty
from jobs.weighing.anomalies import Labels, clock_anomalies, shift_anomalies, spike_anomalies, still_moving
from jobs.weighing.cleaning import CleanedLog, clean, off_at_ends_mg
from jobs.weighing.division import division_of
from jobs.weighing.errors import InvalidLog
from jobs.weighing.log import WeighLog
from jobs.weighing.masses import in_words, little_in_words
from jobs.weighing.nearness import near_flow
from jobs.weighing.phases import find_phases
from jobs.weighing.plateaus import Stillness, still_beginning
from jobs.weighing.results import Direction, Phase, Plateau, Weighing

_SIGNS = {"in": 1, "out": -1, "auto": 0}
_MG_PER_KG = 1e6
# A weight that went the other way by more than this many standard deviations contradicts a stated direction.
_CONTRADICTION_SDS = 3.0


def weigh(
    log: WeighLog, *, direction: Literal["in", "out", "auto"] = "auto", division_mg: int | None = None
) -> Weighing:
    """Finds the still stretches before and after the flow, and from them the net mass.

    Args:
        log: as read.
        direction: as the scale sees it, ``in`` where its load gains; ``auto`` leaves it to the log.
        division_mg: the scale's division; found from the readings if not given.

    Returns:
        The net mass with its uncertainty, one standard deviation (``uncertainty``), and every anomaly.

    Raises:
        InvalidLog: the direction isn't one, or the log contradicts it.
    """
    if direction not in _SIGNS:
        raise InvalidLog("direction", direction, "in, out or auto")
    division = float(division_mg or division_of(log.weights_mg, log.resolution_mg))
    labels = Labels(log)
    cleaned = clean(log, division, _SIGNS[direction])
    near = cleaned.part(near_flow(cleaned, division))
    start = still_beginning(near.times_s, near.weights_mg, division)
    end = still_beginning(near.times_s[-1] - near.times_s[::-1], near.weights_mg[::-1], division)
    flow = _flow_s(near, start, end)
    contributions = [
        *_contributions(near, start, end, division, flow),
        uncertainty.left_out_at_ends(off_at_ends_mg(log, cleaned.kept, end.level_mg - start.level_mg)),
    ]
    sd_mg = uncertainty.combined_mg(contributions)
    risen_mg = end.level_mg - start.level_mg if flow else 0.0
    found = _direction(direction, risen_mg, sd_mg)
    net_mg = max(0, round(risen_mg * _SIGNS[found])) if found else 0
    anomalies = [
        *clock_anomalies(labels, cleaned.interval_s),
        *spike_anomalies(labels, cleaned.is_spike, cleaned.interval_s),
        *shift_anomalies(labels, cleaned.kept, cleaned.shifts),
    ]
    if flow and not end.is_still:
        anomalies.append(still_moving(labels, end))
    gross_start_mg = round(start.level_mg + _put_on_mg(cleaned, flow))
    return Weighing(
        samples=log.samples,
        starts_at=log.starts_at,
        ends_at=log.ends_at,
        starts_label=log.time_texts[0],
        ends_label=log.time_texts[-1],
        gross_start_mg=gross_start_mg,
        gross_end_mg=gross_start_mg + net_mg * _SIGNS[found or "auto"],
        net_mg=net_mg,
        uncertainty_mg=max(1, round(sd_mg)),
        duration_s=float(log.times_s[-1]),
        mean_rate_kg_per_min=net_mg / _MG_PER_KG / (float(log.times_s[-1]) / 60),
        flow_from_s=flow[0] if flow else None,
        flow_to_s=flow[1] if flow else None,
        direction=found,
        division_mg=round(division),
        anomalies=tuple(sorted(anomalies, key=lambda anomaly: anomaly.from_s)),
        plateaus=_plateaus(near, start, end),
        phases=_phases(near, flow, division, found),
        because=_as_read(log) + _because(start, end, cleaned, contributions, (net_mg, sd_mg), flow, log.unit),
    )


def _flow_s(cleaned: CleanedLog, start: Stillness, end: Stillness) -> tuple[float, float] | None:
    """From the last still reading before to the first after the flow; nothing where one stretch reaches over all."""
    count = len(cleaned.times_s)
    if start.end >= count or end.end >= count:
        return None
    first, last = max(0, start.end - 1), min(count - 1, count - end.end)
    return (float(cleaned.times_s[first]), float(cleaned.times_s[last])) if last > first else None


def _put_on_mg(cleaned: CleanedLog, flow: tuple[float, float] | None) -> float:
    """What was put on the scale before the flow, or taken off: the load is weighed with it. The zero key adds none."""
    if flow is None:
        return 0.0
    return sum(
        shift.offset_mg
        for shift in cleaned.shifts
        if shift.kind == "moved" and cleaned.times_s[shift.after] <= flow[0]
    )


def _contributions(
    near: CleanedLog,
    start: Stillness,
    end: Stillness,
    division_mg: float,
    flow: tuple[float, float] | None,
) -> list[uncertainty.Contribution]:
    risen_mg = end.level_mg - start.level_mg
    found = [
        uncertainty.quantisation(division_mg),
        uncertainty.handling(division_mg),
        uncertainty.noise([start.noise_mg, end.noise_mg]),
        uncertainty.drift(
            division_mg, flow[1] - flow[0] if flow else float(near.times_s[-1] - near.times_s[0])
        ),
        uncertainty.shifts([shift.uncertainty_mg for shift in near.shifts]),
    ]
    if not start.is_still:
        found.append(uncertainty.missing_level(start.slope_mg_per_s, risen_mg, "before the flow"))
    if not end.is_still:
        found.append(uncertainty.missing_level(end.slope_mg_per_s, risen_mg, "after the flow"))
    return found


def _direction(stated: Literal["in", "out", "auto"], risen_mg: float, sd_mg: float) -> Direction | None:
    if stated == "auto":
        return None if risen_mg == 0 else ("in" if risen_mg > 0 else "out")
    if _SIGNS[stated] * risen_mg < -_CONTRADICTION_SDS * sd_mg:
        went = "rose" if risen_mg > 0 else "fell"
        other = "in" if risen_mg > 0 else "out"
        raise InvalidLog(
            "direction", stated, f"{other}: the weight {went} by {abs(risen_mg) / _MG_PER_KG:.3f} kg"
        )
    return stated


def _plateaus(cleaned: CleanedLog, start: Stillness, end: Stillness) -> tuple[Plateau, ...]:
    times_s, count = cleaned.times_s, len(cleaned.times_s)
    found = []
    if start.is_still:
        found.append(
            Plateau(
                float(times_s[0]),
                float(times_s[start.end - 1]),
                round(start.level_mg),
                round(start.spread_mg),
            )
        )
    if end.is_still and start.end < count:
        found.append(
            Plateau(
                float(times_s[count - end.end]), float(times_s[-1]), round(end.level_mg), round(end.spread_mg)
            )
        )
    return tuple(found)


def _phases(
    cleaned: CleanedLog, flow: tuple[float, float] | None, division_mg: float, direction: Direction | None
) -> tuple[Phase, ...]:
    if flow is None or direction != "in":
        return ()
    during = (cleaned.times_s >= flow[0]) & (cleaned.times_s <= flow[1])
    return find_phases(cleaned.times_s[during], cleaned.weights_mg[during], division_mg)


def _as_read(log: WeighLog) -> str:
    return "Pounds and ounces of two columns are read as one weight. " if log.has_ounces_apart else ""


def _because(
    start: Stillness,
    end: Stillness,
    cleaned: CleanedLog,
    contributions: list[uncertainty.Contribution],
    answer_mg: tuple[float, float],
    flow: tuple[float, float] | None,
    unit: str,
) -> str:
    net_mg, sd_mg = answer_mg
    before = "still before the flow" if start.is_still else "first reading, the weight was already moving"
    after = "still after it" if end.is_still else "last reading, the weight was still moving"
    parts = ", ".join(
        f"{part.name} {little_in_words(part.sd_mg, unit)}" for part in contributions if part.sd_mg
    )
    removed_mg = sum(shift.offset_mg for shift in cleaned.shifts)
    began = in_words(start.level_mg, unit)
    moved = (
        f"{began} ({before}), {in_words(end.level_mg, unit)} ({after})"
        if flow
        else f"the scale stood still at {began} throughout"
    )
    tare = (
        f"; tare shifts of {in_words(removed_mg, unit)} in all removed"
        if cleaned.shifts and removed_mg
        else ""
    )
    return (
        f"{moved}{tare}: net {in_words(net_mg, unit)}. Standard deviation {little_in_words(sd_mg, unit)}, "
        f"the root of the sum of squares of {parts} (JCGM 100:2008, 5.1.2)."
    )
