"""The stored reading of a scale's log, as a chart and as the tables that say the same in words."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from string import ascii_uppercase
from typing import Any

from compliance.rulebook.masses import MG_PER_UNIT, format_mass
from jobs.models import WeighLog, WeighLogReading
from portal.web.charts import Band, Chart, ElapsedAxis, Lane, Level, Line, Panel, Span

SECONDS_A_MINUTE, SECONDS_AN_HOUR = 60, 3600

ANOMALY_WORDS = {
    "gap": "Gap in the log",
    "spike": "Bump on the scale",
    "tare_shift": "Zero shifted",
    "still_moving_at_end": "Still moving at the end",
    "clock_went_back": "Clock went back",
    "stuck": "Reading stuck",
}
# A shifted zero or a weight that never came to rest touches the result; the others are set aside without it.
GRAVE_ANOMALIES = ("tare_shift", "still_moving_at_end")
PHASE_WORDS = {
    "liquid": ("Liquid", "first"),
    "vapour": ("Vapour", "second"),
    "pull_down": ("Pull-down", "third"),
}


@dataclass(frozen=True)
class Stretch:
    """One row of a table below the chart: a time from and to, what it was, and why it is taken for that."""

    from_to: str
    words: str
    because: str = ""
    mark: str = ""


@dataclass(frozen=True)
class WeighPlot:
    """A log's reading as it is shown.

    Attributes:
        log: the filed log.
        reading: its stored reading.
        chart: weight and flow over time.
        plateaus: where the weight stood still.
        phases: what flowed when.
        anomalies: what was set aside or removed, with the chart's marks.
        duration: how long it ran, in words.
    """

    log: WeighLog
    reading: WeighLogReading
    chart: Chart
    plateaus: Sequence[Stretch]
    phases: Sequence[Stretch]
    anomalies: Sequence[Stretch]
    duration: str


def weigh_plot(log: WeighLog, *, unit: str, title: str) -> WeighPlot | None:
    """Prepare the plot of a log for a page or a print.

    Args:
        log: filed, with its reading.
        unit: kg or lb, in which weights and flow are shown.
        title: what the plot is of, such as the record and the transfer.

    Returns:
        None where the reading is still to be derived.
    """
    reading = getattr(log, "reading", None)
    if reading is None:
        return None
    figures = reading.figures
    marks = _marks(len(figures["anomalies"]))
    return WeighPlot(
        log=log,
        reading=reading,
        chart=_chart(reading, unit, title, marks),
        plateaus=[
            Stretch(
                _from_to(row),
                format_mass(row["level_mg"], unit),
                f"spread {format_mass(row['spread_mg'], unit)}",
            )
            for row in figures["plateaus"]
        ],
        phases=[
            Stretch(_from_to(row), PHASE_WORDS[row["kind"]][0], _flowed(reading.curve, row, unit))
            for row in figures["phases"]
        ],
        anomalies=[
            Stretch(_from_to(row), ANOMALY_WORDS[row["kind"]], row["because"], mark)
            for row, mark in zip(figures["anomalies"], marks, strict=True)
        ],
        duration=clock(figures["duration_s"]),
    )


def clock(seconds: float) -> str:
    """A time since the log began, such as 0:04:30.

    Example:
        >>> clock(270)
        '0:04:30'
    """
    minutes, rest = divmod(round(seconds), SECONDS_A_MINUTE)
    hours, minutes = divmod(minutes, SECONDS_A_MINUTE)
    return f"{hours}:{minutes:02d}:{rest:02d}"


def _from_to(row: dict[str, Any]) -> str:
    start, end = clock(row["from_s"]), clock(row["to_s"])
    return start if start == end else f"{start} to {end}"


def _flowed(curve: dict[str, list[float]], phase: dict[str, Any], unit: str) -> str:
    """How much flowed in a phase, and how fast, read off the thinned curve."""
    first, last = (_level_mg(curve, phase[end]) for end in ("from_s", "to_s"))
    mass_mg, minutes = round(abs(last - first)), (phase["to_s"] - phase["from_s"]) / SECONDS_A_MINUTE
    rate = f", {format_mass(round(mass_mg / minutes), unit)} a minute" if minutes else ""
    return f"about {format_mass(mass_mg, unit)}{rate}"


def _level_mg(curve: dict[str, list[float]], at_s: float) -> float:
    place = min(bisect_left(curve["times_s"], at_s), len(curve["times_s"]) - 1)
    return curve["corrected_mg"][place]


def _marks(count: int) -> list[str]:
    """A, B and so on to Z, then A2, B2 and so on."""
    letters = len(ascii_uppercase)
    return [
        ascii_uppercase[place % letters] + (str(place // letters + 1) if place >= letters else "")
        for place in range(count)
    ]


def _chart(reading: WeighLogReading, unit: str, title: str, marks: list[str]) -> Chart:
    figures, curve = reading.figures, reading.curve
    mg = float(MG_PER_UNIT[unit])
    kg = float(MG_PER_UNIT["kg"])
    times = curve["times_s"]
    weights = [weight / mg for weight in curve["weights_mg"]]
    corrected = [weight / mg for weight in curve["corrected_mg"]]
    flow = [rate * kg / mg for rate in curve["flow_kg_per_min"]]
    lines = [Line(times, weights)]
    if corrected != weights:
        lines = [
            Line(times, weights, "As the scale showed it", "faint"),
            Line(times, corrected, "Zero shift removed"),
        ]
    return Chart(
        title=f"Weight and flow, {title}",
        description=_description(reading, unit),
        axis=ElapsedAxis(),
        axis_title="Time since the log began",
        panels=(
            Panel(
                f"Weight on the scale, {unit}",
                lines=lines,
                levels=[
                    Level(row["from_s"], row["to_s"], row["level_mg"] / mg, "Standing still")
                    for row in figures["plateaus"]
                ],
            ),
            Panel(f"Flow, {unit}/min", lines=(Line(times, flow),), share=0.55, has_zero=True),
        ),
        bands=[
            Band(
                row["from_s"],
                row["to_s"],
                "Set aside or removed" if row["kind"] not in GRAVE_ANOMALIES else "Look at this",
                mark,
                "danger" if row["kind"] in GRAVE_ANOMALIES else "caution",
            )
            for row, mark in zip(figures["anomalies"], marks, strict=True)
        ],
        lanes=_lanes(figures["phases"]),
    )


def _lanes(phases: list[dict[str, Any]]) -> list[Lane]:
    if not phases:
        return []
    spans = [Span(row["from_s"], row["to_s"], *PHASE_WORDS[row["kind"]]) for row in phases]
    return [Lane("What flowed", spans)]


def _description(reading: WeighLogReading, unit: str) -> str:
    figures = reading.figures
    way = "rose" if figures["direction"] == "in" else "fell"
    count = len(figures["anomalies"])
    found = f"{count} {'anomaly' if count == 1 else 'anomalies'} marked." if count else "No anomaly."
    return (
        f"The weight {way} from {format_mass(figures['gross_start_mg'], unit)} to "
        f"{format_mass(figures['gross_end_mg'], unit)} in {clock(figures['duration_s'])}: "
        f"{format_mass(reading.net_mg, unit)} net. {found}"
    )
