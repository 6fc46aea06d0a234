"""A Plotly figure as a small SVG without scripts, for pages and paper: the same figure, no second.

What our figures are made of is drawn: lines, markers, error bars, areas, bars; straight lines and
grounds of the layout, words, legends; axes by value, logarithm or category. A figure of anything
else is refused rather than drawn half.
"""

from __future__ import annotations

import re
from html import escape
from typing import TYPE_CHECKING, Any

from logbook.report.figure_svg import text
from logbook.report.figure_svg.axes import kept_within
from logbook.report.figure_svg.layout import Sheet, sheet_of
from logbook.report.figure_svg.marks import (
    ACROSS,
    SYMBOLS,
    Point,
    area,
    bars,
    doubt,
    ground,
    line,
    markers,
    points_of,
    straight,
    symbol,
)
from logbook.report.figure_svg.text import pixels, written

if TYPE_CHECKING:
    import plotly.graph_objects as go

PAGE, PHONE = 720.0, 360.0
"""Widths that drawings are made for: letters keep their size, so a narrow one holds fewer."""
FORM = re.compile(r",?\.\d[f%]")
"""Formats of values that read the same here as in the figure."""
MODES = frozenset({"lines", "markers", "lines+markers"})


def figure_svg(figure: go.Figure, *, width: float = PAGE, words: str = "") -> str | None:
    """Draw a figure as SVG.

    Parameters
    ----------
    figure
        In the light theme.
    width
        Of the sheet, in pixels; letters keep their size.
    words
        What it shows, for those who cannot see it.

    Returns
    -------
    str or None
        An ``svg`` element; None for a figure that holds what is not drawn here.
    """
    if not drawable(figure):
        return None
    sheet = sheet_of(figure, width)
    layout = figure.layout
    parts = [
        f'<rect width="{pixels(width)}" height="{pixels(sheet.height)}" '
        f'fill="{escape(layout.paper_bgcolor)}" rx="4"/>',
        *_frames(sheet, layout),
        *_inside(figure, sheet),
        *_words(layout, sheet),
        *_legend(sheet, layout),
    ]
    title = text.plain(layout.title.text)
    told = f"<desc>{escape(words)}</desc>" if words else ""
    return (
        f'<svg viewBox="0 0 {pixels(width)} {pixels(sheet.height)}" role="img" '
        f'xmlns="http://www.w3.org/2000/svg" font-family="{escape(layout.font.family)}">'
        f"<title>{escape(title)}</title>{told}{''.join(parts)}</svg>"
    )


def drawable(figure: go.Figure) -> bool:
    """Whether all of a figure is of the sorts that are drawn here."""
    axes = (*figure.select_xaxes(), *figure.select_yaxes())
    return (
        all(axis.type in (None, "-", "linear", "log", "category") for axis in axes)
        and all(FORM.fullmatch(axis.tickformat or ".0f") for axis in axes)
        and all(_trace_drawable(trace) for trace in figure.data)
        and all(shape.type in ("line", "rect") for shape in figure.layout.shapes)
        and not any(each.showarrow for each in figure.layout.annotations)
        and not figure.layout.images
    )


def _trace_drawable(trace: Any) -> bool:
    if trace.type == "bar":
        return True
    told = trace.marker.symbol if trace.type == "scatter" else None
    names = told if isinstance(told, list | tuple) else [told]
    return (
        trace.type == "scatter"
        and trace.mode in MODES
        and trace.fill in (None, "none", "tonexty")
        and trace.line.shape in (None, "linear", "hvh")
        and all(name is None or name in SYMBOLS or name == ACROSS for name in names)
    )


def _frames(sheet: Sheet, layout: Any) -> list[str]:
    """Grids, the names of values, and the titles of axes."""
    ink = str(layout.font.color)
    drawn = []
    for panel in sheet.panels:
        x, y = panel.axes.x, panel.axes.y
        for axis, other, told, ticks in (
            (x, y, panel.told_x, panel.ticks_x),
            (y, x, panel.told_y, panel.ticks_y),
        ):
            if told.showgrid is False:
                continue
            for number, _ in ticks:
                at = axis.at(number)
                ends = ((at, other.start), (at, other.end))
                if axis is y:
                    ends = ((x.start, at), (x.end, at))
                drawn.append(straight(*ends, colour=str(told.gridcolor)))
        quiet = str(panel.told_x.tickfont.color or ink)
        foot = max(y.start, y.end)
        for number, lines in panel.ticks_x:
            left, right = kept_within(x.at(number), text.widest(lines), sheet.width)
            middle = (left + right) / 2
            drawn.append(written(middle, foot + 4, lines, anchor="middle", colour=quiet))
        for number, lines in panel.ticks_y:
            top = y.at(number) - text.height(lines) / 2 - 1
            drawn.append(written(x.start - 8, top, lines, anchor="end", colour=quiet))
        drawn += _axis_titles(panel, foot, ink)
    return drawn


def _axis_titles(panel: Any, foot: float, ink: str) -> list[str]:
    x, y = panel.axes.x, panel.axes.y
    drawn = []
    if below := text.lines_of(panel.told_x.title.text):
        colour = str(panel.told_x.title.font.color or ink)
        top = foot + panel.names_below + 6
        drawn.append(written((x.start + x.end) / 2, top, below, anchor="middle", colour=colour))
    if beside := text.lines_of(panel.told_y.title.text):
        colour = str(panel.told_y.title.font.color or ink)
        turned = written(0, 0, beside, anchor="middle", colour=colour)
        middle = (y.start + y.end) / 2
        drawn.append(f'<g transform="translate(2 {pixels(middle)}) rotate(-90)">{turned}</g>')
    return drawn


def _inside(figure: go.Figure, sheet: Sheet) -> list[str]:
    """All that stands in the panels, nothing beyond their edges but markers."""
    drawn = []
    for panel in sheet.panels:
        clipped: list[str] = []
        above: list[str] = []
        before: list[Point | None] = []
        for trace in panel.traces:
            if trace.type == "bar":
                clipped += [*bars(trace, panel.axes), *doubt(trace, panel.axes)]
                continue
            points = points_of(trace, panel.axes)
            if trace.fill == "tonexty":
                clipped += area(points, before, trace)
            clipped += doubt(trace, panel.axes)
            if "lines" in trace.mode:
                clipped += line(points, trace.line, str(trace.line.color))
            if "markers" in trace.mode:
                # In their turn among the lines, so that a later line does not cross them.
                above += markers(points, trace, panel.axes)
            before = points
        shapes = _shapes(figure.layout, panel, sheet)
        x, y = panel.axes.x, panel.axes.y
        left, top = min(x.start, x.end), min(y.start, y.end)
        wide, high = abs(x.end - x.start), abs(y.end - y.start)
        box = f"{pixels(left)} {pixels(top)} {pixels(wide)} {pixels(high)}"
        drawn.append(
            f'<svg x="{pixels(left)}" y="{pixels(top)}" width="{pixels(wide)}" '
            f'height="{pixels(high)}" viewBox="{box}">{"".join([*clipped, *shapes])}</svg>'
        )
        drawn += above
    return drawn


def _shapes(layout: Any, panel: Any, sheet: Sheet) -> list[str]:
    drawn = []
    for shape in layout.shapes:
        first = sheet.point(shape.xref, shape.yref, shape.x0, shape.y0)
        last = sheet.point(shape.xref, shape.yref, shape.x1, shape.y1)
        here = panel is sheet.panel_of(shape.xref, shape.yref)
        if not here or first is None or last is None:
            continue
        if shape.type == "line":
            told = shape.line
            drawn.append(
                straight(first, last, colour=told.color, width=told.width or 2, dash=told.dash)
            )
        else:
            drawn.append(ground(first, last, str(shape.fillcolor)))
    return drawn


def _words(layout: Any, sheet: Sheet) -> list[str]:
    """The title, and the words of the layout."""
    ink = str(layout.font.color)
    drawn = [written(sheet.left_edge, 8, sheet.title, colour=ink, size=sheet.title_size)]
    for told in layout.annotations:
        lines = text.lines_of(told.text)
        point = sheet.point(told.xref, told.yref, told.x, told.y)
        if point is None or not lines:
            continue
        size = float(told.font.size or text.SIZE)
        lines = text.wrapped(lines, sheet.width - 2 * sheet.left_edge, size)
        x = point[0] + (told.xshift or 0)
        y = point[1] - (told.yshift or 0)
        high = text.height(lines, size)
        top = y - {"bottom": high + 3, "middle": high / 2, "top": 0}.get(told.yanchor, high / 2)
        anchor = {"left": "start", "right": "end"}.get(told.xanchor, "middle")
        if told.bgcolor:
            wide = text.widest(lines, size)
            left = x - {"start": 0, "end": wide}.get(anchor, wide / 2)
            drawn.append(ground((left, top), (left + wide, top + high + 3), str(told.bgcolor)))
        colour = str(told.font.color or ink)
        drawn.append(written(x, top, lines, anchor=anchor, colour=colour, size=size))
    return drawn


def _legend(sheet: Sheet, layout: Any) -> list[str]:
    drawn = []
    for x, y, trace, lines in sheet.legend:
        told, middle = trace.marker, (x + 8, y + 8)
        if trace.type == "bar":
            drawn.append(symbol(middle, "square", 11, str(told.color), role="key"))
        elif "markers" in trace.mode:
            name = told.symbol if isinstance(told.symbol, str) else "circle"
            size = min(float(told.size or 8), 12)
            drawn.append(symbol(middle, name, size, str(told.color), role="key"))
        else:
            line_of = trace.line
            ends = ((x, y + 8), (x + 16, y + 8))
            drawn.append(straight(*ends, colour=line_of.color, width=line_of.width or 2))
        drawn.append(written(x + 22, y, lines, colour=str(layout.font.color)))
    return drawn
