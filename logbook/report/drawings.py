"""The figures of an answer as they stand on a page: one drawing for its width, one for a phone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from markupsafe import Markup

from logbook.report.figure_svg import PAGE, PHONE, figure_svg

if TYPE_CHECKING:
    import plotly.graph_objects as go


@dataclass(frozen=True, slots=True)
class Drawing:
    """One figure in both widths; None where it holds what is not drawn on paper."""

    wide: Markup | None
    narrow: Markup | None


def drawing_of(figure: go.Figure, words: str = "") -> Drawing:
    """Draw a figure in both widths.

    Parameters
    ----------
    figure
        In the light theme.
    words
        What it shows, for those who cannot see it.
    """
    wide = figure_svg(figure, width=PAGE, words=words)
    narrow = figure_svg(figure, width=PHONE, words=words)
    if wide is None or narrow is None:
        return Drawing(None, None)
    return Drawing(Markup(wide), Markup(narrow))
