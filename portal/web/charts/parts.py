"""What a chart is made of; how it is drawn is told elsewhere. Tones are names that the style sheet gives a look."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from portal.web.charts.ticks import Axis, NumberAxis


@dataclass(frozen=True)
class Line:
    """A line through points; ``is_stepped`` holds each value until the next. A NaN breaks it.

    ``name`` stands in the legend; leave it empty where the panel's title says it.
    """

    xs: Sequence[float]
    ys: Sequence[float]
    name: str = ""
    tone: str = "main"
    is_stepped: bool = False


@dataclass(frozen=True)
class Points:
    """Single values, each a dot; ``marks`` are short texts beside them."""

    xs: Sequence[float]
    ys: Sequence[float]
    name: str = ""
    tone: str = "main"
    marks: Sequence[str] = ()


@dataclass(frozen=True)
class Level:
    """A thick stretch at one value, such as a weight that stood still."""

    start: float
    end: float
    value: float
    name: str = ""
    tone: str = "level"


@dataclass(frozen=True)
class Rule:
    """A line straight across at one value, such as a threshold; its label stands at its end, its name in the legend."""

    value: float
    label: str
    tone: str = "limit"
    name: str = ""


@dataclass(frozen=True)
class Band:
    """A stretch of the x axis shaded behind every panel, with a short mark above it."""

    start: float
    end: float
    name: str
    mark: str = ""
    tone: str = "caution"


@dataclass(frozen=True)
class Span:
    """A labelled stretch of a lane."""

    start: float
    end: float
    label: str
    tone: str = "first"


@dataclass(frozen=True)
class Lane:
    """A strip above the panels, in which spans tell what went on when."""

    title: str
    spans: Sequence[Span]


@dataclass(frozen=True)
class Panel:
    """One plot over the shared x axis.

    Attributes:
        title: what the values are, with their unit.
        share: its height beside the other panels'.
        has_zero: whether zero is always on the value axis.
    """

    title: str
    lines: Sequence[Line] = ()
    points: Sequence[Points] = ()
    levels: Sequence[Level] = ()
    rules: Sequence[Rule] = ()
    share: float = 1.0
    has_zero: bool = False


@dataclass(frozen=True)
class Chart:
    """Panels under each other over one x axis.

    Attributes:
        title: what it shows; read out, and not drawn.
        description: what it says, for those who don't see it.
        axis: the marks of the x axis.
        axis_title: what runs along it.
        ends: where the x axis begins and ends; by what is drawn unless given.
    """

    title: str
    description: str
    panels: Sequence[Panel]
    axis: Axis = field(default_factory=NumberAxis)
    axis_title: str = ""
    bands: Sequence[Band] = ()
    lanes: Sequence[Lane] = ()
    ends: tuple[float, float] | None = None
