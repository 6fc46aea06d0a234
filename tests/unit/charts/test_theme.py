"""The theme that every figure is given."""

from __future__ import annotations

import plotly.graph_objects as go

from logbook.charts.theme import dressed


def test_what_users_wrote_is_no_markup_in_a_title():
    figure = dressed(go.Figure(), title="<b>Ties</b> & gaps,<br>by week", dark=False)
    assert figure.layout.title.text == "&lt;b&gt;Ties&lt;/b&gt; &amp; gaps,<br>by week"
