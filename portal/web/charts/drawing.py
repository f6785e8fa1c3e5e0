"""Draws a chart as SVG. The look is in charts.css: the drawing itself carries classes and coordinates alone."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from textwrap import wrap

from django.utils.html import escape, format_html
from django.utils.safestring import SafeString, mark_safe

from portal.web.charts.parts import Band, Chart, Lane, Line, Panel, Points
from portal.web.charts.ticks import NumberAxis, Tick

STYLE_SHEET = Path(__file__).resolve().parents[1] / "static" / "web" / "charts.css"

# All in units of the drawing, in which the text is 12 high.
TEXT = 12
LETTER = 6.6
TITLE_LETTER = 7
ROW = 20
TITLE_LINE = 15
GAP = 14
EDGE = 8
PANEL_HEIGHT = 190
TICK_ROOM = 92
Y_TICKS = 5
Y_MARGIN = 0.06
MARK_ROOM = 22
SWATCH = 16
LABEL_MARGIN = 6


@dataclass(frozen=True)
class _Scale:
    """Maps values to places; a scale without extent puts everything in its middle."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        if self.high <= self.low:
            return (self.start + self.end) / 2
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)


def draw(chart: Chart, *, width: int = 720) -> SafeString:
    """Draw a chart for a page, so wide in units in which its text is 12 high: 720 for a desk, 360 for a phone."""
    return _Drawing(chart, width).svg()


def draw_for_print(chart: Chart, *, width: int = 640) -> SafeString:
    """Draw a chart with its style sheet inside, since a printed page's own doesn't reach into it."""
    return _Drawing(chart, width).svg(style=_style_sheet())


@cache
def _style_sheet() -> str:
    return STYLE_SHEET.read_text(encoding="utf-8")


class _Drawing:
    """One chart on one sheet, filled from top to bottom."""

    def __init__(self, chart: Chart, width: int) -> None:
        self.chart = chart
        self.width = width
        self.parts: list[str] = []
        self.y_axes = [_value_axis(panel) for panel in chart.panels]
        widest = max((len(tick.label) for ticks, _, _ in self.y_axes for tick in ticks), default=1)
        self.left = EDGE + widest * LETTER + 6
        labels = [len(rule.label) for panel in chart.panels for rule in panel.rules]
        self.right = width - EDGE - LABEL_MARGIN - max(labels, default=0) * LETTER
        low, high = _x_range(chart)
        self.x = _Scale(low, high, self.left, self.right)
        self.ticks = chart.axis.ticks(low, high, max(2, int((self.right - self.left) / TICK_ROOM)))
        self.top = float(EDGE)

    def svg(self, style: str = "") -> SafeString:
        self._legend()
        for lane in self.chart.lanes:
            self._lane(lane)
        self._marks()
        places = []
        for panel in self.chart.panels:
            top = self.top + ROW + (len(self._title_lines(panel)) - 1) * TITLE_LINE
            places.append((top, top + PANEL_HEIGHT * panel.share))
            self.top = places[-1][1] + GAP
        for band in self.chart.bands:
            self._band(band, places[0][0] - 2, places[-1][1])
        for panel, place, axis in zip(self.chart.panels, places, self.y_axes, strict=True):
            self._panel(panel, place, axis)
        self._x_axis(places[-1][1])
        height = round(self.top + ROW + (ROW if self.chart.axis_title else 0))
        return format_html(
            '<svg class="chart" viewBox="0 0 {} {}" width="{}" height="{}" role="img" aria-label="{}">'
            "<title>{}</title><desc>{}</desc>{}{}</svg>",
            *(self.width, height, self.width, height, f"{self.chart.title}. {self.chart.description}"),
            *(self.chart.title, self.chart.description),
            mark_safe(f"<style>{style}</style>" if style else ""),  # noqa: S308 -- our own style sheet
            mark_safe("".join(self.parts)),  # noqa: S308 -- each part is escaped where it is made
        )

    # --- From top to bottom ---

    def _legend(self) -> None:
        entries = list(_legend_entries(self.chart))
        if not entries:
            return
        at, row = float(self.left), self.top
        for kind, tone, name in entries:
            room = SWATCH + LABEL_MARGIN + len(name) * LETTER + GAP
            if at > self.left and at + room > self.right + GAP:
                at, row = float(self.left), row + ROW
            self._swatch(kind, tone, at, row)
            self._text(at + SWATCH + LABEL_MARGIN, row + TEXT, name, "legend")
            at += room
        self.top = row + ROW + LABEL_MARGIN

    def _swatch(self, kind: str, tone: str, at: float, row: float) -> None:
        middle = row + TEXT * 0.65
        if kind == "band":
            self._rect("band", tone, (at, row + 1), (at + SWATCH, row + TEXT + 2))
        elif kind == "points":
            self._dot(tone, at + SWATCH / 2, middle)
        else:
            self._path(kind, tone, f"M{_n(at)} {_n(middle)}H{_n(at + SWATCH)}")

    def _lane(self, lane: Lane) -> None:
        self._text(self.left, self.top + TEXT, lane.title, "title")
        top, bottom = self.top + ROW - 3, self.top + 2 * ROW - 3
        for span in lane.spans:
            start, end = self.x(span.start), self.x(span.end)
            self._rect("span", span.tone, (start, top), (max(start + 1, end), bottom))
            if len(span.label) * LETTER + LABEL_MARGIN <= end - start:
                self._text(
                    (start + end) / 2, bottom - 5, span.label, f"span-label chart-on-{span.tone}", "middle"
                )
        self.top = bottom + GAP * 0.75

    def _marks(self) -> None:
        """Put the bands' marks above them, one over the other where they would touch."""
        marked = sorted((band for band in self.chart.bands if band.mark), key=lambda band: band.start)
        row_ends: list[float] = []
        placed = []
        for band in marked:
            middle = (self.x(band.start) + self.x(band.end)) / 2
            half = max(MARK_ROOM, len(band.mark) * LETTER + LABEL_MARGIN) / 2
            middle = min(max(middle, self.left + half), self.right - half)
            row = next((r for r, end in enumerate(row_ends) if middle - half >= end), len(row_ends))
            row_ends[row : row + 1] = [middle + half]
            placed.append((middle, row, band))
        for middle, row, band in placed:
            self._text(
                middle, self.top + row * ROW + TEXT, band.mark, f"mark chart-ink-{band.tone}", "middle"
            )
        self.top += len(row_ends) * ROW

    def _band(self, band: Band, top: float, bottom: float) -> None:
        start, end = self.x(band.start), self.x(band.end)
        # A moment is still to be seen.
        widen = max(0.0, 3 - (end - start)) / 2
        self._rect("band", band.tone, (start - widen, top), (end + widen, bottom))

    def _panel(self, panel: Panel, place: tuple[float, float], axis: tuple[list[Tick], float, float]) -> None:
        top, bottom = place
        ticks, low, high = axis
        y = _Scale(low, high, bottom, top)
        lines = self._title_lines(panel)
        for above, words in enumerate(reversed(lines)):
            self._text(self.left, top - 7 - above * TITLE_LINE, words, "title")
        for tick in self.ticks:
            self._path("grid", "x", f"M{_n(self.x(tick.at))} {_n(top)}V{_n(bottom)}")
        for tick in ticks:
            self._path("grid", "y", f"M{_n(self.left)} {_n(y(tick.at))}H{_n(self.right)}")
            self._text(self.left - 6, y(tick.at) + TEXT * 0.34, tick.label, "tick", "end")
        for rule in panel.rules:
            self._path("rule", rule.tone, f"M{_n(self.left)} {_n(y(rule.value))}H{_n(self.right)}")
            self._text(
                self.right + 4, y(rule.value) + TEXT * 0.34, rule.label, f"label chart-ink-{rule.tone}"
            )
        for line in panel.lines:
            self._path("line", line.tone, _line_path(line, self.x, y))
        for level in panel.levels:
            start, end = self.x(level.start), self.x(level.end)
            self._path("level", level.tone, f"M{_n(start)} {_n(y(level.value))}H{_n(max(end, start + 2))}")
        for points in panel.points:
            self._points(points, y)
        self._path("axis", "x", f"M{_n(self.left)} {_n(bottom)}H{_n(self.right)}")

    def _title_lines(self, panel: Panel) -> list[str]:
        """The panel's title in as many lines as the drawing is narrow."""
        return wrap(panel.title, max(1, int((self.width - EDGE - self.left) / TITLE_LETTER))) or [""]

    def _points(self, points: Points, y: _Scale) -> None:
        marks = [*points.marks, *[""] * (len(points.xs) - len(points.marks))]
        for at, value, mark in zip(points.xs, points.ys, marks, strict=True):
            self._dot(points.tone, self.x(at), y(value))
            if mark:
                self._text(self.x(at), y(value) - 8, mark, f"label chart-ink-{points.tone}", "middle")

    def _x_axis(self, bottom: float) -> None:
        for tick in self.ticks:
            place = self.x(tick.at)
            half = len(tick.label) * LETTER / 2
            place = min(max(place, half), self.width - half)
            self._text(place, bottom + TEXT + 6, tick.label, "tick", "middle")
        self.top = bottom + 6
        if self.chart.axis_title:
            self._text(
                (self.left + self.right) / 2, bottom + TEXT + ROW + 4, self.chart.axis_title, "tick", "middle"
            )

    # --- Pieces ---

    def _text(self, x: float, y: float, words: str, kind: str, anchor: str = "") -> None:
        where = f' text-anchor="{anchor}"' if anchor else ""
        self.parts.append(f'<text class="chart-{kind}" x="{_n(x)}" y="{_n(y)}"{where}>{escape(words)}</text>')

    def _path(self, kind: str, tone: str, d: str) -> None:
        if d:
            self.parts.append(f'<path class="chart-{kind} chart-{kind}-{escape(tone)}" d="{d}"/>')

    def _rect(self, kind: str, tone: str, start: tuple[float, float], end: tuple[float, float]) -> None:
        (left, top), (right, bottom) = start, end
        self.parts.append(
            f'<rect class="chart-{kind} chart-{kind}-{escape(tone)}" x="{_n(left)}" y="{_n(top)}"'
            f' width="{_n(right - left)}" height="{_n(bottom - top)}"/>'
        )

    def _dot(self, tone: str, x: float, y: float) -> None:
        self.parts.append(
            f'<circle class="chart-dot chart-dot-{escape(tone)}" cx="{_n(x)}" cy="{_n(y)}" r="4"/>'
        )


def _legend_entries(chart: Chart) -> Iterator[tuple[str, str, str]]:
    """What is drawn and named, each name once: (kind, tone, name)."""
    named = [
        *(("line", line.tone, line.name) for panel in chart.panels for line in panel.lines),
        *(("points", points.tone, points.name) for panel in chart.panels for points in panel.points),
        *(("level", level.tone, level.name) for panel in chart.panels for level in panel.levels),
        *(("rule", rule.tone, rule.name) for panel in chart.panels for rule in panel.rules),
        *(("band", band.tone, band.name) for band in chart.bands),
    ]
    return iter(dict.fromkeys(entry for entry in named if entry[2]))


def _line_path(line: Line, x: _Scale, y: _Scale) -> str:
    """The line as path data; what isn't a number breaks it."""
    commands: list[str] = []
    is_down = False
    for at, value in zip(line.xs, line.ys, strict=True):
        if not math.isfinite(value):
            is_down = False
            continue
        if is_down and line.is_stepped:
            commands.append(f"H{_n(x(at))}V{_n(y(value))}")
        else:
            commands.append(f"{'L' if is_down else 'M'}{_n(x(at))} {_n(y(value))}")
        is_down = True
    return "".join(commands)


def _x_range(chart: Chart) -> tuple[float, float]:
    if chart.ends is not None:
        return chart.ends
    values = [
        *(at for panel in chart.panels for row in _series(panel) for at in row.xs),
        *(end for band in chart.bands for end in (band.start, band.end)),
        *(end for lane in chart.lanes for span in lane.spans for end in (span.start, span.end)),
    ]
    return (float(min(values)), float(max(values))) if values else (0.0, 1.0)


def _value_axis(panel: Panel) -> tuple[list[Tick], float, float]:
    """The marks of a panel's value axis and its ends, a little beyond what it shows."""
    values = list(_finite(value for row in _series(panel) for value in row.ys))
    values += [level.value for level in panel.levels] + [rule.value for rule in panel.rules]
    if panel.has_zero or not values:
        values.append(0.0)
    low, high = float(min(values)), float(max(values))
    if high <= low:
        low, high = low - 1, high + 1
    margin = (high - low) * Y_MARGIN
    bottom = low if panel.has_zero and low == 0 else low - margin
    top = high + margin
    return NumberAxis().ticks(bottom, top, Y_TICKS), bottom, top


def _series(panel: Panel) -> list[Line | Points]:
    return [*panel.lines, *panel.points]


def _finite(values: Iterable[float]) -> Iterator[float]:
    return (value for value in values if math.isfinite(value))


def _n(value: float) -> str:
    """A coordinate to a tenth, without needless figures."""
    return f"{value:.1f}".removesuffix(".0")
