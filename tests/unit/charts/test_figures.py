"""What is drawn are the result's numbers, in light and in dark."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import plotly.graph_objects as go
import pytest
from small_shop import MUCH_PUCKERED, WEEK, small_book

from logbook.charts.theme import Palette, palette
from logbook.questions.control import ChartParameters, ask
from logbook.questions.control import figure as control
from logbook.questions.control.result import ControlResult
from logbook.questions.costs import CostsParameters
from logbook.questions.costs import ask as ask_costs
from logbook.questions.costs import figure as pareto
from logbook.questions.costs.result import CostsResult
from logbook.questions.factors import FactorsParameters
from logbook.questions.factors import ask as causes
from logbook.questions.factors import curve_figure as factor_curves
from logbook.questions.factors import figure as factors
from logbook.questions.factors.result import FactorsResult
from logbook.questions.suppliers import SuppliersParameters
from logbook.questions.suppliers import ask as compare
from logbook.questions.suppliers import figure as suppliers
from logbook.questions.suppliers.result import SuppliersResult
from logbook.store.duckdb_store import DuckStore
from logbook.wording import money

THEMES = pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])


def chart(store: DuckStore, **asked: str) -> ControlResult:
    return ask(store, ChartParameters.model_validate(asked))


def compared(store: DuckStore, **asked: str) -> SuppliersResult:
    return compare(store, SuppliersParameters.model_validate(asked))


@dataclass(frozen=True)
class Answers:
    pieces: ControlResult
    events: ControlResult
    by_run: ControlResult
    dearest: CostsResult
    compared: SuppliersResult
    compared_events: SuppliersResult
    causes: FactorsResult


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Answers]:
    with small_book(tmp_path_factory.mktemp("charts") / "book") as store:
        yield Answers(
            pieces=chart(store, defect="puckering"),
            events=chart(store, defect="thread_breaks", spread="plain"),
            by_run=chart(store, defect="puckering", by="run"),
            dearest=ask_costs(store, CostsParameters()),
            compared=compared(store, defect="puckering", reference="Alder", margin="1"),
            compared_events=compared(store, defect="thread_breaks"),
            causes=causes(store, FactorsParameters(defect="puckering")),
        )


def _numbers(values: Any) -> list[float]:
    return [float(value) for value in values]


def _dressed(figure: go.Figure, colours: Palette) -> None:
    assert figure.layout.paper_bgcolor == colours.card
    assert figure.layout.plot_bgcolor == colours.card
    assert figure.layout.font.color == colours.ink
    assert figure.layout.title.text
    figure.to_json()


@THEMES
@pytest.mark.parametrize("which", ["pieces", "events", "by_run"])
def test_a_control_chart_holds_the_points(answers: Answers, which: str, dark: bool) -> None:
    result: ControlResult = getattr(answers, which)
    scale = 100.0 if result.kind.measure == "pieces" else 100_000.0
    figure = control.draw(result, dark=dark)
    lower, upper, rates, above, below = figure.data
    for trace, column in ((lower, "lower"), (upper, "upper"), (rates, "rate")):
        assert list(trace.x) == result.points["label"].to_list()
        assert _numbers(trace.y) == pytest.approx((result.points[column] * scale).to_list())
    [usual] = [shape for shape in figure.layout.shapes if shape.y0 == shape.y1]
    assert usual.y0 == pytest.approx(result.centre * scale)
    marked = {signal.label for signal in result.signals}
    assert {*above.x, *below.x} == marked
    _dressed(figure, palette(dark=dark))


@THEMES
def test_the_week_that_puckered_is_marked(answers: Answers, dark: bool) -> None:
    above = control.draw(answers.pieces, dark=dark).data[3]
    assert WEEK in above.x
    assert above.marker.color == palette(dark=dark).alarm
    assert above.marker.symbol == "triangle-up"
    # Six runs of fifty pieces, half of them with one puckered piece more.
    assert above.y[list(above.x).index(WEEK)] == pytest.approx(
        100 * (6 * MUCH_PUCKERED + 3) / (6 * 50)
    )


@THEMES
def test_a_pareto_holds_costs_in_their_order(answers: Answers, dark: bool) -> None:
    figure = pareto.draw(answers.dearest, dark=dark)
    [bars] = figure.data
    counted = [each for each in answers.dearest.costed.kinds if each.count > 0]
    assert list(bars.y) == [each.kind.label for each in counted]
    assert _numbers(bars.x) == pytest.approx([each.cost for each in counted])
    assert all(
        money(each.cost, "EUR") in words for each, words in zip(counted, bars.text, strict=True)
    )
    assert bars.y[0] == "Puckering"
    _dressed(figure, palette(dark=dark))


@THEMES
@pytest.mark.parametrize("which", ["compared", "compared_events"])
def test_suppliers_hold_differences_and_intervals(answers: Answers, which: str, dark: bool) -> None:
    result: SuppliersResult = getattr(answers, which)
    scale = 100.0 if result.kind.measure == "pieces" else 100_000.0
    figure = suppliers.draw(result, dark=dark)
    crude, same_jobs = figure.data
    rows = [row for row in result.suppliers if row.check is not None and row.check.jobs > 0]
    assert rows
    assert list(same_jobs.y) == [row.supplier for row in rows]
    for trace, name in ((crude, "crude"), (same_jobs, "like_for_like")):
        found = [
            (row.adjusted.difference, row.adjusted.difference_interval)
            if name == "like_for_like" and row.adjusted.verdict is not None
            else (getattr(row.check, name).estimate, getattr(row.check, name).interval)
            for row in rows
        ]
        assert _numbers(trace.x) == pytest.approx([estimate * scale for estimate, _ in found])
        highs = [x + up for x, up in zip(trace.x, trace.error_x.array, strict=True)]
        lows = [x - down for x, down in zip(trace.x, trace.error_x.arrayminus, strict=True)]
        assert highs == pytest.approx([interval[1] * scale for _, interval in found])
        assert lows == pytest.approx([interval[0] * scale for _, interval in found])
    assert result.reference is not None
    assert result.reference in figure.layout.title.text
    _dressed(figure, palette(dark=dark))


@THEMES
def test_the_margin_is_shaded(answers: Answers, dark: bool) -> None:
    shaded = [
        shape
        for shape in suppliers.draw(answers.compared, dark=dark).layout.shapes
        if shape.type == "rect"
    ]
    assert [(shape.x0, shape.x1) for shape in shaded] == [(-1.0, 1.0)]


def test_every_chart_of_the_list_draws(answers: Answers) -> None:
    drawn = {
        control: answers.pieces,
        factor_curves: answers.causes,
        factors: answers.causes,
        pareto: answers.dearest,
        suppliers: answers.compared,
    }
    for chart, result in drawn.items():
        assert isinstance(chart.draw(result), go.Figure)
