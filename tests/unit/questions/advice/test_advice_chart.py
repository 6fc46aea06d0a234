"""The chart of suggested changes holds what the advice holds."""

import plotly.graph_objects as go
import polars as pl
import pytest
from planted_cells import planted

from logbook.questions.advice import figure as advice
from logbook.questions.advice.analyse import advise
from logbook.questions.advice.materials import WEIGHTS_BY
from logbook.questions.advice.result import AdviceResult
from logbook.shop import Shop
from logbook.vocabulary.defects import ANY


@pytest.fixture(scope="module")
def advised() -> AdviceResult:
    own = planted(runs=900).with_columns(
        spoiled=pl.lit(None, pl.Float64),
        reworked=pl.lit(None, pl.Float64),
        rework_minutes=pl.lit(None, pl.Float64),
    )
    cells = pl.concat([own, own.with_columns(kind=pl.lit(ANY.name))])
    weights = pl.DataFrame(
        schema={name: pl.String for name in WEIGHTS_BY if name != "backing_gsm"}
        | {"backing_gsm": pl.Float64, "pieces_sewn": pl.Int64}
    )
    return advise(cells, shop=Shop(), weights=weights, fabric="twill", setup={"topping": "none"})


@pytest.mark.parametrize("dark", [False, True])
def test_savings_and_their_intervals_are_drawn(advised: AdviceResult, dark: bool) -> None:
    figure = advice.draw(advised, dark=dark)
    assert isinstance(figure, go.Figure)
    (savings,) = figure.data
    shown = advised.suggestions
    assert list(savings.x) == [each.saving_per_100 for each in shown]
    highs = [x + up for x, up in zip(savings.x, savings.error_x.array, strict=True)]
    assert highs == pytest.approx([each.saving_interval[1] for each in shown])
    lows = [x - down for x, down in zip(savings.x, savings.error_x.arrayminus, strict=True)]
    assert lows == pytest.approx([each.saving_interval[0] for each in shown])
    words = [each.text.replace("<br>", " ") for each in figure.layout.annotations]
    assert words == [f"{place}. {each.words()}" for place, each in enumerate(shown, start=1)]
    tops = [each.y for each in figure.layout.annotations]
    assert all(top < mark for top, mark in zip(tops, savings.y, strict=True))
