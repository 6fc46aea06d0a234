"""The chart of what goes with a defect holds the result's numbers."""

from __future__ import annotations

from dataclasses import replace

import plotly.graph_objects as go
import polars as pl
import pytest
from planted_cells import planted

from logbook.charts.theme import palette
from logbook.questions.factors import curve_figure as factor_curves
from logbook.questions.factors import figure as factors
from logbook.questions.factors.analyse import analyse
from logbook.questions.factors.result import FactorsResult
from logbook.shop import Shop
from logbook.vocabulary.defects import kind

THEMES = pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])


@pytest.fixture(scope="module", params=["puckering", "thread_breaks"])
def result(request: pytest.FixtureRequest) -> FactorsResult:
    asked = kind(request.param)
    unit = 1.0 if asked.measure == "pieces" else 1000.0
    cells = planted(seed=1, kind=asked.name, exposure_unit=unit)
    return analyse(cells, kind=asked, shop=Shop())


def _traces(figure: go.Figure) -> dict[str, go.Scatter]:
    return {trace.name: trace for trace in figure.data if trace.name}


@THEMES
def test_levels_stand_with_their_ratios_and_intervals(result: FactorsResult, dark: bool) -> None:
    traces = _traces(factors.draw(result, dark=dark))
    shown = [each for each in result.effects if each.comparable][: factors.MOST_LEVELS]
    groups = {
        "more with it": [e for e in shown if e.adjusted.finding and e.adjusted.ratio > 1],
        "less with it": [e for e in shown if e.adjusted.finding and e.adjusted.ratio < 1],
        "may be luck": [e for e in shown if not e.adjusted.finding],
    }
    assert groups["more with it"]
    assert groups["less with it"]
    for name, own in groups.items():
        trace = traces[name]
        assert list(trace.x) == pytest.approx([each.adjusted.ratio for each in own])
        highs = [x + up for x, up in zip(trace.x, trace.error_x.array, strict=True)]
        lows = [x - down for x, down in zip(trace.x, trace.error_x.arrayminus, strict=True)]
        assert highs == pytest.approx([each.adjusted.ratio_interval[1] for each in own])
        assert lows == pytest.approx([each.adjusted.ratio_interval[0] for each in own])
        for label, each in zip(trace.y, own, strict=True):
            assert each.factor_label in label
    crude = traces["all jobs thrown together"]
    assert list(crude.x) == pytest.approx([each.crude.ratio for each in shown])


@THEMES
def test_findings_are_larger_and_in_the_colours_of_worse_and_better(
    result: FactorsResult, dark: bool
) -> None:
    traces, colours = _traces(factors.draw(result, dark=dark)), palette(dark=dark)
    assert traces["more with it"].marker.color == colours.alarm
    assert traces["less with it"].marker.color == colours.relief
    assert traces["more with it"].marker.size > traces["may be luck"].marker.size


@THEMES
def test_the_others_stand_at_one_on_a_logarithmic_axis(result: FactorsResult, dark: bool) -> None:
    figure = factors.draw(result, dark=dark)
    assert figure.layout.xaxis.type == "log"
    [line] = figure.layout.shapes
    assert (line.x0, line.x1) == (1, 1)
    assert figure.layout.paper_bgcolor == palette(dark=dark).card
    assert result.kind.label in figure.layout.title.text


@THEMES
def test_curves_are_drawn_in_order_with_their_intervals(result: FactorsResult, dark: bool) -> None:
    figure = factor_curves.draw(result, dark=dark)
    [curve] = [curve for curve in result.curves if curve.points]
    [drawn] = [trace for trace in figure.data if trace.mode == "lines+markers"]
    scale = 100.0 if result.kind.measure == "pieces" else 100_000.0
    assert list(drawn.y) == pytest.approx([point.rate * scale for point in curve.points])
    highs = [y + up for y, up in zip(drawn.y, drawn.error_y.array, strict=True)]
    assert highs == pytest.approx([point.interval[1] * scale for point in curve.points])
    assert list(drawn.x) == ["Solid<br>1.9–3.1", "Close<br>3.1–4.7", "Layered<br>4.7–6.2"]
    assert any("Stitch density" in note.text for note in figure.layout.annotations)


def test_an_interval_beyond_the_axis_is_cut_off_with_an_arrow(result: FactorsResult) -> None:
    [curve] = [curve for curve in result.curves if curve.points]
    *others, last = curve.points
    highest = max(point.rate for point in curve.points)
    loose = replace(last, interval=(last.interval[0], 9 * highest))
    figure = factor_curves.draw(replace(result, curves=(replace(curve, points=(*others, loose)),)))
    drawn, arrow = figure.data
    scale = 100.0 if result.kind.measure == "pieces" else 100_000.0
    end = drawn.y[-1] + drawn.error_y.array[-1]
    assert end == pytest.approx(factor_curves.HIGHEST * highest * scale)
    assert end < figure.layout.yaxis.range[1]
    assert (list(arrow.x), list(arrow.y)) == ([drawn.x[-1]], [pytest.approx(end)])
    assert arrow.marker.symbol == "triangle-up"
    assert arrow.text[0].startswith("goes on to ")
    assert any("▲ goes on" in note.text for note in figure.layout.annotations)


def test_nothing_to_compare_still_draws() -> None:
    cells = planted(runs=150).with_columns(
        *(pl.lit("same").alias(name) for name in ("fabric", "topping", "backing_supplier")),
        pl.lit("cut_away").alias("backing"),
        pl.lit("solid").alias("density_band"),
    )
    result = analyse(cells, kind=kind("puckering"), shop=Shop())
    for figure in (factors.draw(result), factor_curves.draw(result)):
        assert isinstance(figure, go.Figure)
        figure.to_json()
