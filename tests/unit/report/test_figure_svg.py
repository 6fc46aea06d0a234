"""A figure as SVG: every point in its place, nothing that acts, no words over one another."""

from __future__ import annotations

import itertools
import math
import re
from typing import Any
from xml.etree import ElementTree

import plotly.graph_objects as go
import pytest
from small_shop import SCRIPT

from logbook.charts.theme import LIGHT, dressed, plain_text
from logbook.report.figure_svg import PAGE, PHONE, figure_svg
from logbook.report.figure_svg.text import lines_of, widest

SVG = "{http://www.w3.org/2000/svg}"
WIDTHS = pytest.mark.parametrize("width", [PAGE, PHONE])
WEEKS = [f"2026-W{week:02}" for week in range(1, 53)]


def root_of(figure: go.Figure, width: float = PAGE, words: str = "") -> ElementTree.Element:
    drawing = figure_svg(figure, width=width, words=words)
    assert drawing is not None
    return ElementTree.fromstring(drawing)


def figure_of(*traces: Any, title: str = "A title", **layout: Any) -> go.Figure:
    return dressed(go.Figure(traces), title=title, dark=False).update_layout(**layout)


def over_weeks(**more: Any) -> go.Scatter:
    rates = [3 + math.sin(week) for week in range(len(WEEKS))]
    return go.Scatter(
        **{
            "x": WEEKS,
            "y": rates,
            "mode": "lines+markers",
            "line": {"color": LIGHT.thread},
            "marker": {"size": 7, "color": LIGHT.thread},
            **more,
        }
    )


def classed(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [each for each in root.iter() if each.get("class") == name]


def places(root: ElementTree.Element) -> list[tuple[float, float]]:
    """Middles of the round markers."""
    return [(float(e.get("cx", "nan")), float(e.get("cy", "nan"))) for e in classed(root, "marker")]


@WIDTHS
def test_every_point_is_drawn_on_one_straight_scale(width: float) -> None:
    trace = over_weeks()
    found = places(root_of(figure_of(trace), width))
    assert len(found) == len(WEEKS)
    assert [x for x, _ in found] == sorted(x for x, _ in found)
    (low, at_low), (high, at_high) = (
        (edge(trace.y), found[list(trace.y).index(edge(trace.y))][1]) for edge in (min, max)
    )
    assert at_high < at_low
    expected = [at_low + (y - low) / (high - low) * (at_high - at_low) for y in trace.y]
    assert [y for _, y in found] == pytest.approx(expected, abs=0.2)


@WIDTHS
def test_names_below_an_axis_do_not_touch_and_stay_on_the_sheet(width: float) -> None:
    figure = figure_of(over_weeks())
    figure.update_xaxes(type="category")
    texts = root_of(figure, width).findall(f"{SVG}text")
    spans = [span for text in texts for span in text if (span.text or "") in WEEKS]
    assert len(spans) >= 3
    ends = []
    for span in spans:
        half, middle = widest(lines_of(span.text)) / 2, float(span.get("x", "nan"))
        ends.append((middle - half, middle + half))
    assert all(one[1] < other[0] for one, other in itertools.pairwise(ends))
    assert ends[0][0] >= 0
    assert ends[-1][1] <= width
    assert spans[-1].text == WEEKS[-1], "the last is named"


@WIDTHS
def test_every_row_has_its_name(width: float) -> None:
    names = [f"Fabric<br><b>a rather long name, number {place}</b>" for place in range(20)]
    trace = go.Scatter(x=[1.0] * 20, y=names, mode="markers", marker={"color": LIGHT.thread})
    figure = figure_of(trace, height=300)
    root = root_of(figure, width)
    said = ["".join(text.itertext()) for text in root.findall(f"{SVG}text")]
    assert sum(words.startswith("Fabric") for words in said) == 20
    tops = sorted(y for _, y in places(root))
    assert min(b - a for a, b in itertools.pairwise(tops)) >= 2 * 15


def test_text_of_users_is_shown_and_never_acts() -> None:
    trace = over_weeks(x=[SCRIPT, "b"], y=[1.0, 2.0], name=plain_text(SCRIPT), showlegend=True)
    figure = figure_of(trace, title=SCRIPT, showlegend=True)
    figure.add_annotation(x="b", y=1, text=plain_text(SCRIPT), showarrow=False)
    drawing = figure_svg(figure, words=SCRIPT)
    assert drawing is not None
    assert "<script" not in drawing
    root = ElementTree.fromstring(drawing)
    assert root.findtext(f"{SVG}title") == SCRIPT
    assert root.findtext(f"{SVG}desc") == SCRIPT
    said = ["".join(text.itertext()) for text in root.findall(f"{SVG}text")]
    assert said.count(SCRIPT) == 4, "title, name on the axis, legend and words of the layout"
    assert {each.tag.removeprefix(SVG) for each in root.iter()} <= {
        *("svg", "title", "desc", "rect", "line", "path", "circle", "polygon", "text", "tspan", "g")
    }
    assert not [name for each in root.iter() for name in each.attrib if name.startswith("on")]


def test_bars_are_as_long_as_their_values_and_their_intervals_stand_on_them() -> None:
    bars = go.Bar(
        x=[40.0, 10.0, 20.0],
        y=["a", "b", "c"],
        orientation="h",
        marker={"color": [LIGHT.alarm, LIGHT.thread, LIGHT.thread]},
        error_x={"type": "data", "array": [4.0, 2.0, 2.0], "color": LIGHT.quiet, "width": 0},
    )
    root = root_of(figure_of(bars))
    drawn = classed(root, "bar")
    lengths = [float(each.get("width", "nan")) for each in drawn]
    assert lengths == pytest.approx([lengths[0], lengths[0] / 4, lengths[0] / 2], abs=0.1)
    assert [each.get("fill") for each in drawn] == [LIGHT.alarm, LIGHT.thread, LIGHT.thread]
    doubts = [e for e in root.iter(f"{SVG}line") if e.get("stroke") == LIGHT.quiet]
    spans = [float(e.get("x2", "nan")) - float(e.get("x1", "nan")) for e in doubts]
    assert spans == pytest.approx([lengths[0] / 5, lengths[0] / 10, lengths[0] / 10], abs=0.2)


def test_a_logarithmic_axis_names_what_it_is_told() -> None:
    trace = go.Scatter(x=[0.5, 1.0, 2.0], y=["a", "b", "c"], mode="markers")
    trace.marker.color = LIGHT.thread
    figure = figure_of(trace)
    ticks = [0.1, 0.5, 1.0, 2.0, 50.0]
    figure.update_xaxes(
        type="log", range=[math.log10(0.4), math.log10(2.5)], tickvals=ticks, ticktext=ticks
    )
    root = root_of(figure)
    xs = [x for x, _ in places(root)]
    assert xs[1] - xs[0] == pytest.approx(xs[2] - xs[1], abs=0.2)
    said = {"".join(text.itertext()) for text in root.findall(f"{SVG}text")}
    assert {"0.5", "1.0", "2.0"} <= said
    assert not {"0.1", "50.0"} & said, "what lies off the axis is not named"


def test_a_missing_point_parts_the_line_and_is_not_drawn() -> None:
    trace = over_weeks(x=WEEKS[:5], y=[1.0, 2.0, None, 2.0, 1.0])
    root = root_of(figure_of(trace))
    assert len(places(root)) == 4
    assert len(list(root.iter(f"{SVG}path"))) == 2


def test_ground_between_limits_follows_their_steps() -> None:
    limits = {"mode": "lines", "line": {"color": LIGHT.usual, "shape": "hvh"}}
    lower = over_weeks(x=["a", "b"], y=[1.0, 2.0], **limits)
    upper = over_weeks(x=["a", "b"], y=[3.0, 5.0], fill="tonexty", fillcolor=LIGHT.band, **limits)
    paths = list(root_of(figure_of(lower, upper)).iter(f"{SVG}path"))
    (ground,) = [each for each in paths if each.get("fill") == LIGHT.band]
    assert re.sub(r"[\d.,]+", "", ground.get("d", "")) == "MHVHLHVHZ"


def test_axes_run_backwards_where_they_are_told_to() -> None:
    trace = over_weeks(x=["a", "b"], y=[1.0, 2.0])
    figure = figure_of(trace)
    (_, first), (_, second) = places(root_of(figure))
    assert first > second
    figure.update_yaxes(autorange="reversed")
    (_, first), (_, second) = places(root_of(figure))
    assert first < second


@WIDTHS
def test_all_of_it_stays_on_the_sheet_in_colours_of_ours(width: float) -> None:
    figure = figure_of(over_weeks(name="rates", showlegend=True), showlegend=True)
    figure.add_hline(y=3.0, line={"color": LIGHT.usual, "dash": "dash"})
    figure.add_vrect(x0=2, x1=5, fillcolor=LIGHT.band, line_width=0)
    drawing = figure_svg(figure, width=width)
    assert drawing is not None
    ours = {getattr(LIGHT, name).lower() for name in LIGHT.__slots__}
    assert set(re.findall(r"#[0-9a-f]{3,6}", drawing.lower())) <= ours
    root = ElementTree.fromstring(drawing)
    wide, high = map(float, root.get("viewBox", "").split()[2:])
    assert wide == width
    for each in root.iter():
        for name, limit in (("x", wide), ("cx", wide), ("y", high), ("cy", high)):
            place = each.get(name)
            assert place is None or 0 <= float(place) <= limit, (each.tag, name, place)


@pytest.mark.parametrize(
    "trace",
    [
        go.Heatmap(z=[[1, 2], [3, 4]]),
        go.Scatter(x=[1], y=[1], mode="text", text=["a"]),
        go.Scatter(x=[1], y=[1], mode="markers", marker={"symbol": "hourglass"}),
        go.Scatter(x=[1, 2], y=[1, 2], mode="lines", fill="toself"),
    ],
    ids=["heatmap", "text", "symbol", "fill"],
)
def test_what_cannot_be_drawn_is_refused(trace: Any) -> None:
    assert figure_svg(figure_of(trace)) is None


def test_a_date_axis_is_refused() -> None:
    figure = figure_of(go.Scatter(x=["2026-01-01"], y=[1], mode="markers"))
    figure.update_xaxes(type="date")
    assert figure_svg(figure) is None
