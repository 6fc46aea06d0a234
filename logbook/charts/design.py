"""A design in its thread colours, and where it is dense: drawings in SVG, the same scale for all.

Both pictures of a design lie in the same frame, so that a place in one is the same place in the
other; ``Frame.mm`` turns a place in a picture into millimetres of the design.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

import numpy as np

from logbook.charts.theme import FONT, palette
from logbook.stitches import Measurement

CLASSES = 9
"""Steps of the density scale: 0 to 1 stitches/mm², 1 to 2 … 8 and more, the same for all."""
LIGHT_SCALE = (
    *("#FFFFD9", "#EDF8B1", "#C7E9B4", "#7FCDBB", "#41B6C4"),
    *("#1D91C0", "#225EA8", "#253494", "#081D58"),
)
"""YlGnBu of ColorBrewer 2.0 (Cynthia Brewer), safe for colour-blind readers: darker is denser."""
DARK_SCALE = (
    *("#2B3A67", "#2C4A8C", "#225EA8", "#1D91C0", "#41B6C4"),
    *("#7FCDBB", "#C7E9B4", "#EDF8B1", "#FFFFD9"),
)
"""The same from the other end: lighter is denser."""
UNTOLD = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9", "#F0E442", "#000000")
"""Threads whose colour the file does not say (Okabe and Ito's colours, safe for all readers)."""
CLOTH = "#B4B7B5"
"""A middle grey, on which light and dark threads both show."""
THREAD_MM = 0.4

PICTURE_PX = 420
MARGIN_PX = 12
LEGEND_PX = 64


@dataclass(frozen=True, slots=True)
class Frame:
    """How a design lies in its pictures.

    Attributes
    ----------
    width_px, height_px
        Of a whole picture (its ``viewBox``), legend included; shown at any size.
    scale
        Pixels of the ``viewBox`` for a millimetre.
    left_mm, top_mm
        The design's place at the left and upper edge of the picture.
    """

    width_px: float
    height_px: float
    scale: float
    left_mm: float
    top_mm: float

    def mm(self, across: float, down: float) -> tuple[float, float]:
        """Millimetres of the design under a place in the picture.

        Parameters
        ----------
        across, down
            Parts of the picture's width and height, 0 to 1 from its upper left corner: where it
            was tapped, divided by the size at which it is shown.
        """
        return (
            self.left_mm + across * self.width_px / self.scale,
            self.top_mm + down * self.height_px / self.scale,
        )

    def px(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """The place in the ``viewBox`` of a place in the design."""
        return (x_mm - self.left_mm) * self.scale, (y_mm - self.top_mm) * self.scale


def frame(result: Measurement) -> Frame:
    """The frame that both pictures of a design lie in."""
    room = PICTURE_PX - 2 * MARGIN_PX
    scale = room / max(result.width_mm, result.height_mm)
    height = result.height_mm * scale
    spare = (room - result.width_mm * scale) / 2
    return Frame(
        width_px=PICTURE_PX,
        height_px=height + 2 * MARGIN_PX + LEGEND_PX,
        scale=scale,
        left_mm=result.left_mm - (MARGIN_PX + spare) / scale,
        top_mm=result.top_mm - MARGIN_PX / scale,
    )


def draw(result: Measurement, *, dark: bool = False) -> str:
    """Draw a design and its density map side by side (one above the other on a phone).

    Returns
    -------
    str
        HTML with two pictures in SVG, nothing from outside.
    """
    pictures = (draw_threads(result, dark=dark), draw_density(result, dark=dark))
    return (
        '<div style="display:flex;flex-wrap:wrap;gap:16px">'
        + "".join(f'<div style="flex:1 1 280px;max-width:560px">{each}</div>' for each in pictures)
        + "</div>"
    )


def draw_threads(result: Measurement, *, dark: bool = False) -> str:
    """Draw a design in its thread colours, as SVG."""
    place = frame(result)
    paths = "".join(f'<path d="{line}" stroke="{colour}"/>' for colour, line in _threads(result))
    ground = _ground(place, CLOTH)
    body = (
        f'{ground}<g fill="none" stroke-width="{THREAD_MM * 10:g}" stroke-linejoin="round" '
        f'stroke-linecap="round" transform="{_tenths(place)}">{paths}</g>'
    )
    said = "In its thread colours" if None not in result.design.colours else "Colours not told"
    return _picture(place, body + _scale_bar(place, dark), said, result, dark=dark)


def draw_density(
    result: Measurement,
    *,
    marks: Sequence[tuple[float, float]] = (),
    densest_from: float | None = None,
    dark: bool = False,
) -> str:
    """Draw where a design is dense, with the densest square centimetre framed, as SVG.

    Parameters
    ----------
    result
        The design, measured.
    marks
        Places to ring, in mm of the design.
    densest_from
        The density, in stitches/mm², from which places are outlined as the densest; None
        outlines none.
    dark
        Which of the two themes.
    """
    place, colours = frame(result), palette(dark=dark)
    grid = result.density
    scale = DARK_SCALE if dark else LIGHT_SCALE
    corner = place.px(*grid.origin_mm)
    cells = "".join(
        f'<path d="{line}" fill="{scale[step]}"/>'
        for step, line in enumerate(_cells(result))
        if line
    )
    x, y = place.px(grid.densest_at_mm[0] - 5, grid.densest_at_mm[1] - 5)
    side = 10 * place.scale
    body = (
        f'<g shape-rendering="crispEdges" transform="translate({corner[0]:.2f} {corner[1]:.2f}) '
        f'scale({place.scale:.4f})">{cells}</g>'
        f"{_outline(result, place, densest_from, dark)}"
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{side:.1f}" height="{side:.1f}" fill="none" '
        f'stroke="{colours.paper}" stroke-width="4"/>'
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{side:.1f}" height="{side:.1f}" fill="none" '
        f'stroke="{colours.alarm}" stroke-width="2"/>'
        f"{_rings(place, marks, dark)}"
    )
    said = f"Framed: the densest square centimetre, {grid.densest:.1f} stitches/mm²"
    if densest_from is not None:
        said = f"Framed: densest cm², {grid.densest:.1f}. Outlined: densest tenth"
    return _picture(place, body + _legend(place, scale, dark), said, result, dark=dark)


def _threads(result: Measurement) -> Iterator[tuple[str, str]]:
    """A colour and a path in tenths of a millimetre for each colour step."""
    thread, design = result.thread, result.design
    steps = design.steps[design.is_stitch]
    tenths = np.rint(thread.points_mm * 10).astype(np.int64)
    way = np.diff(tenths, axis=0, prepend=tenths[:1])
    joined = np.concatenate(([False], thread.sewn))
    words = [
        f"l{dx} {dy}" if on else f"M{x} {y}"
        for on, (dx, dy), (x, y) in zip(joined, way.tolist(), tenths.tolist(), strict=True)
    ]
    begun = np.searchsorted(steps, range(len(design.colours) + 1))
    for step, colour in enumerate(design.colours):
        line = "".join(words[begun[step] : begun[step + 1]])
        if line:
            yield colour or UNTOLD[step % len(UNTOLD)], line


def _cells(result: Measurement) -> list[str]:
    """A path in cells for each step of the scale, neighbours in a row drawn as one."""
    grid = result.density
    step = np.minimum(grid.density.astype(np.int64), CLASSES - 1)
    step[grid.sewn_mm2 == 0] = -1
    paths = [""] * CLASSES
    for row, steps in enumerate(step):
        begins = np.flatnonzero(np.diff(steps, prepend=-2))
        for begin, end in zip(begins, [*begins[1:], len(steps)], strict=True):
            if steps[begin] >= 0:
                paths[steps[begin]] += f"M{begin} {row}h{end - begin}v1h{begin - end}z"
    return paths


def _outline(result: Measurement, place: Frame, least: float | None, dark: bool) -> str:
    """A line round all cells that are at least so dense."""
    if least is None:
        return ""
    grid, colours = result.density, palette(dark=dark)
    inside = np.pad((grid.density >= least) & (grid.sewn_mm2 > 0), 1).astype(np.int8)
    across = np.argwhere(np.diff(inside, axis=0)[:, 1:-1])
    down = np.argwhere(np.diff(inside, axis=1)[1:-1])
    line = "".join(f"M{column} {row}h1" for row, column in across.tolist())
    line += "".join(f"M{column} {row}v1" for row, column in down.tolist())
    x, y = place.px(*grid.origin_mm)
    strokes = "".join(
        f'<path d="{line}" fill="none" stroke="{colour}" stroke-width="{width}" '
        'stroke-linecap="square" vector-effect="non-scaling-stroke"/>'
        for colour, width in ((colours.paper, 4), (colours.ink, 1.5))
    )
    return f'<g transform="translate({x:.2f} {y:.2f}) scale({place.scale:.4f})">{strokes}</g>'


def _picture(place: Frame, body: str, said: str, result: Measurement, *, dark: bool) -> str:
    colours = palette(dark=dark)
    name = escape(f"{result.design.file_name}: {said}. {result.finding()}")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{name}" '
        f'viewBox="0 0 {place.width_px:g} {place.height_px:.1f}" '
        f'style="width:100%;height:auto;background:{colours.card}" font-family="{escape(FONT)}">'
        f"{body}"
        f'<text x="{MARGIN_PX}" y="{place.height_px - 8:.1f}" font-size="13" '
        f'fill="{colours.ink}">{escape(said)}</text></svg>'
    )


def _rings(place: Frame, marks: Sequence[tuple[float, float]], dark: bool) -> str:
    colours = palette(dark=dark)
    rings = []
    for x_mm, y_mm in marks:
        x, y = place.px(x_mm, y_mm)
        for colour, width in ((colours.paper, 5), (colours.ink, 2)):
            rings.append(
                f'<circle cx="{x:.1f}" cy="{y:.1f}" r="6" fill="none" stroke="{colour}" '
                f'stroke-width="{width}"/>'
            )
    return "".join(rings)


def _tenths(place: Frame) -> str:
    x, y = place.px(0, 0)
    return f"translate({x:.2f} {y:.2f}) scale({place.scale / 10:.5f})"


def _ground(place: Frame, colour: str) -> str:
    height = place.height_px - LEGEND_PX
    return f'<rect width="{place.width_px:g}" height="{height:.1f}" fill="{colour}"/>'


def _scale_bar(place: Frame, dark: bool) -> str:
    colours = palette(dark=dark)
    y = place.height_px - LEGEND_PX + 20
    long = 10 * place.scale
    return (
        f'<path d="M{MARGIN_PX} {y:.1f}v6h{long:.1f}v-6" fill="none" stroke="{colours.quiet}" '
        f'stroke-width="1.5"/><text x="{MARGIN_PX + long + 8:.1f}" y="{y + 7:.1f}" '
        f'font-size="12" fill="{colours.quiet}">10 mm</text>'
    )


def _legend(place: Frame, scale: tuple[str, ...], dark: bool) -> str:
    colours = palette(dark=dark)
    y = place.height_px - LEGEND_PX + 8
    wide = (place.width_px - 2 * MARGIN_PX - 130) / CLASSES
    parts = []
    for step, colour in enumerate(scale):
        x = MARGIN_PX + step * wide
        parts.append(
            f'<rect x="{x:.1f}" y="{y:.1f}" width="{wide:.1f}" height="12" fill="{colour}" '
            f'stroke="{colours.rule}" stroke-width="0.5"/>'
            f'<text x="{x:.1f}" y="{y + 25:.1f}" font-size="11" fill="{colours.quiet}" '
            f'text-anchor="middle">{step}</text>'
        )
    x = MARGIN_PX + CLASSES * wide + 8
    parts.append(
        f'<text x="{x:.1f}" y="{y + 11:.1f}" font-size="12" '
        f'fill="{colours.quiet}">stitches/mm² around</text>'
    )
    return "".join(parts)
