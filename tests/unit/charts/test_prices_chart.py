"""Prices are drawn as steps that begin on their days."""

from __future__ import annotations

from datetime import date

import pytest

from logbook.charts import prices
from logbook.charts.prices import PriceHistory
from logbook.runs.materials import PriceStep, Product, Roll

STEPS = (
    PriceStep(date(2025, 1, 1), 0.8),
    PriceStep(date(2026, 1, 1), 135.0, Roll(150.0, 100.0)),
)


@pytest.mark.parametrize("dark", [False, True])
def test_each_price_holds_from_its_day_to_the_next_and_on_to_today(dark):
    product = Product("backing", "Alder", "cut_away", prices=STEPS)
    figure = prices.draw(PriceHistory(product, date(2026, 6, 1), "EUR"), dark=dark)
    line, marks = figure.data
    assert list(line.x) == [date(2025, 1, 1), date(2026, 1, 1), date(2026, 6, 1)]
    assert list(line.y) == [0.8, 0.9, 0.9]
    assert line.line.shape == "hv"
    assert list(marks.text) == ["0.80", "0.90"]
    assert figure.layout.title.text == "EUR per m²"
    assert figure.layout.yaxis.range[0] == 0
    assert not figure.layout.shapes


def test_today_is_marked_before_a_price_that_has_yet_to_begin():
    product = Product("backing", "Alder", "cut_away", prices=STEPS)
    figure = prices.draw(PriceHistory(product, date(2025, 6, 1), "<b>"))
    (shape,) = figure.layout.shapes
    assert shape.x0 == date(2025, 6, 1)
    assert figure.layout.title.text == "&lt;b&gt; per m²"


def test_a_gift_is_drawn_too():
    product = Product(
        "topping", "Alder", "water_soluble_film", prices=(PriceStep(date(2026, 1, 1), 0.0),)
    )
    figure = prices.draw(PriceHistory(product, date(2026, 6, 1), "EUR"))
    assert tuple(figure.layout.yaxis.range) == (0, 1.0)
