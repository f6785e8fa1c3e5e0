"""Line charts as SVG, made on the server: for pages and for print, without scripts and without style attributes."""

from portal.web.charts.drawing import draw, draw_for_print
from portal.web.charts.parts import Band, Chart, Lane, Level, Line, Panel, Points, Rule, Span
from portal.web.charts.ticks import DateAxis, ElapsedAxis, NumberAxis

__all__ = [
    "Band",
    "Chart",
    "DateAxis",
    "ElapsedAxis",
    "Lane",
    "Level",
    "Line",
    "NumberAxis",
    "Panel",
    "Points",
    "Rule",
    "Span",
    "draw",
    "draw_for_print",
]
