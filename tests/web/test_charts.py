"""Charts: valid SVG that the content security policy lets through, and marks that a person would choose."""

import datetime
import io
import math
from xml.etree import ElementTree as ET

import pypdfium2
import pytest
from weasyprint import HTML

from portal.web.charts import (
    Band,
    Chart,
    DateAxis,
    ElapsedAxis,
    Lane,
    Level,
    Line,
    NumberAxis,
    Panel,
    Points,
    Rule,
    Span,
    draw,
    draw_for_print,
)
from portal.web.charts.ticks import nice_step

SVG = "{http://www.w3.org/2000/svg}"
FULL = Chart(
    title="Weight & flow",
    description="It rose from 1 to 3 <units>.",
    axis=ElapsedAxis(),
    axis_title="Time since the start",
    panels=(
        Panel(
            "Weight, lb",
            lines=(Line([0, 600, 1200], [1, 2, 3], "Weight"),),
            levels=(Level(0, 300, 1.5, "Standing still"),),
            points=(Points([600], [2], "Spike", "danger", ("2 lb",)),),
        ),
        Panel(
            "Flow",
            lines=(Line([0, 1200], [0, 5], "Flow", "second"),),
            rules=(Rule(4, "limit 4"),),
            has_zero=True,
        ),
    ),
    bands=(Band(100, 110, "Anomaly", "A"), Band(105, 140, "Anomaly", "B", "danger")),
    lanes=(Lane("Phases", (Span(0, 600, "Liquid"), Span(600, 1200, "Vapour", "second"))),),
)


def parsed(svg):
    named = svg.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)
    return ET.fromstring(named)  # noqa: S314 -- our own drawing


def texts(svg):
    return [element.text for element in parsed(svg).iter(f"{SVG}text")]


@pytest.mark.parametrize("width", [360, 720])
def test_drawing_is_well_formed_and_carries_no_style_of_its_own(width):
    svg = draw(FULL, width=width)

    elements = list(parsed(svg).iter())
    assert len(elements) > 30
    assert not [e for e in elements if e.tag == f"{SVG}style" or {"style", "fill", "stroke"} & set(e.attrib)]
    assert parsed(svg).get("viewBox").startswith(f"0 0 {width} ")


def test_drawing_tells_those_who_do_not_see_it():
    root = parsed(draw(FULL))

    assert root.get("role") == "img"
    assert root.get("aria-label") == "Weight & flow. It rose from 1 to 3 <units>."
    assert root.find(f"{SVG}title").text == "Weight & flow"
    assert root.find(f"{SVG}desc").text == "It rose from 1 to 3 <units>."


def test_everything_named_is_written():
    shown = texts(draw(FULL))

    assert {"Weight, lb", "Flow", "Weight", "Standing still", "Anomaly", "Spike", "2 lb", "A", "B"} <= set(
        shown
    )
    assert {"limit 4", "Phases", "Liquid", "Vapour", "Time since the start", "10 min"} <= set(shown)


def test_words_from_outside_stay_words():
    hostile = Chart("<script>", '"><script>', (Panel("<b>", lines=(Line([0, 1], [0, 1], "<i>"),)),))

    svg = draw(hostile)

    assert "<script>" not in svg
    assert "<b>" in texts(svg)


@pytest.mark.parametrize("width", [360, 720])
def test_all_stays_on_the_sheet(width):
    root = parsed(draw(FULL, width=width))
    height = float(root.get("height"))

    for element in root.iter(f"{SVG}text"):
        assert 0 <= float(element.get("x")) <= width
        assert 0 <= float(element.get("y")) <= height
    for element in root.iter(f"{SVG}rect"):
        assert float(element.get("x")) >= 0
        assert float(element.get("x")) + float(element.get("width")) <= width + 2


def test_a_gap_breaks_the_line_and_a_step_holds_its_value():
    lines = (Line([0, 1, 2, 3], [0, math.nan, 2, 4]), Line([0, 2, 3], [0, 4, 4], is_stepped=True))
    root = parsed(draw(Chart("t", "d", (Panel("p", lines=lines),))))

    broken, stepped = [e.get("d") for e in root.iter(f"{SVG}path") if "chart-line" in e.get("class")]
    assert (broken.count("M"), broken.count("L")) == (2, 1)
    assert stepped.count("M") == 1
    assert stepped.count("H") == stepped.count("V") == 2


@pytest.mark.parametrize(
    "panel",
    [
        Panel("nothing"),
        Panel("one", lines=(Line([5], [5]),)),
        Panel("flat", lines=(Line([0, 1], [7, 7]),)),
        Panel("none is a number", lines=(Line([0, 1], [math.nan, math.inf]),)),
    ],
)
def test_a_chart_of_nearly_nothing_is_drawn(panel):
    assert "nan" not in draw(Chart("t", "d", (panel,)))


@pytest.mark.parametrize(
    ("span", "count", "step"), [(47, 5, 10), (1, 5, 0.2), (9.9, 5, 2), (0.03, 3, 0.01), (0, 5, 1)]
)
def test_steps_are_round(span, count, step):
    assert nice_step(span, count) == pytest.approx(step)


@pytest.mark.parametrize(
    ("axis", "low", "high", "labels"),
    [
        (NumberAxis(), 0, 10, ["0", "2", "4", "6", "8", "10"]),
        (NumberAxis(), -1, 1, ["−1.0", "−0.5", "0.0", "0.5", "1.0"]),
        (NumberAxis(), 0, 20000, ["0", "5\u202f000", "10\u202f000", "15\u202f000", "20\u202f000"]),
        (ElapsedAxis(), 0, 50, ["0", "10 s", "20 s", "30 s", "40 s", "50 s"]),
        (ElapsedAxis(), 0, 1500, ["0", "5 min", "10 min", "15 min", "20 min", "25 min"]),
        (ElapsedAxis(), 0, 9000, ["0", "30 min", "1:00 h", "1:30 h", "2:00 h", "2:30 h"]),
        (ElapsedAxis(), 0, 172_800, ["0", "12 h", "24 h", "36 h", "48 h"]),
    ],
)
def test_marks_are_those_a_person_would_choose(axis, low, high, labels):
    assert [tick.label for tick in axis.ticks(low, high, 5)] == labels


def test_dates_are_marked_by_days_months_and_years():
    start = datetime.date(2026, 1, 5).toordinal()

    assert [t.label for t in DateAxis().ticks(start, start + 4, 4)] == [
        "01-05",
        "01-06",
        "01-07",
        "01-08",
        "01-09",
    ]
    quarters = [t.label for t in DateAxis().ticks(start, start + 365, 6)]
    assert quarters == ["2026-04", "2026-07", "2026-10", "2027-01"]
    assert [t.label for t in DateAxis().ticks(start, start + 1200, 4)] == ["2027", "2028", "2029"]


def test_printed_chart_shows_its_colours():
    pdf = HTML(string=f"<body>{draw_for_print(FULL)}").write_pdf()

    page = pypdfium2.PdfDocument(io.BytesIO(pdf))[0]
    picture = page.render(scale=1).to_pil().convert("RGB")
    colours = [colour for _, colour in picture.getcolors(picture.width * picture.height)]
    text = page.get_textpage().get_text_range()
    # The line's petrol, the band's edge; without its sheet a chart is black and grey.
    assert any(abs(r - 0x0B) < 30 and abs(g - 0x5F) < 30 and abs(b - 0x6B) < 30 for r, g, b in colours)
    assert any(r > 150 and g < 80 and b < 80 for r, g, b in colours)
    assert "Weight, lb" in text
    assert "10 min" in text


def test_a_given_axis_reaches_beyond_what_is_drawn():
    panel = Panel("Rate", lines=(Line([10, 20], [1, 2]),))

    axis = draw(Chart("Title", "Words", (panel,), ends=(0, 100)))

    assert {"0", "100"} <= set(texts(axis))


def test_a_rule_is_labelled_at_its_end_and_named_in_the_legend():
    panel = Panel("Rate", lines=(Line([0, 9], [1, 2]),), rules=(Rule(5, "5 %", name="Threshold"),))

    svg = draw(Chart("Title", "Words", (panel,)))

    drawn = parsed(svg)
    assert {"5 %", "Threshold"} <= set(texts(svg))
    (label,) = [text for text in drawn.iter(f"{SVG}text") if text.text == "5 %"]
    (_, line) = [path for path in drawn.iter(f"{SVG}path") if "chart-rule" in path.get("class", "")]
    assert float(label.get("x")) > float(line.get("d").rpartition("H")[2])


def test_a_long_title_goes_on_in_a_second_line_where_the_drawing_is_narrow():
    title = "Council chamber chiller: added in 365 days, % of full charge (40 CFR 82.157)"
    chart = Chart("Rolling rate", "", (Panel(title, lines=(Line([0, 1], [0, 1], "Rate"),)),))

    wide, narrow = (
        [element for element in parsed(draw(chart, width=width)).iter(f"{SVG}text") if element.text in title]
        for width in (720, 360)
    )

    assert [element.text for element in wide] == [title]
    lines = sorted(narrow, key=lambda element: float(element.get("y")))
    assert len(lines) == 2
    assert " ".join(element.text for element in lines) == title
