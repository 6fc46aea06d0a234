"""The same charts as drawings for paper: small SVG without scripts, sharp in print."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from logbook.charts.theme import FONT, LIGHT
from logbook.questions.control.result import ControlResult
from logbook.questions.costs.result import CostsResult
from logbook.questions.costs.words import amount_and_share
from logbook.wording import PER_STITCHES, rate_only

CONTROL_HEIGHT = 230
LEFT, RIGHT, TOP, BOTTOM = 64, 12, 18, 30
ROW = 24
LABELS = 170
SHOWN = 8
STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)

Up = Callable[[float], float]
Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Sheet:
    """What a drawing is made for: letters keep their size, so a narrow one holds fewer."""

    width: int
    labels_across: int


PAGE = Sheet(width=720, labels_across=8)
PHONE = Sheet(width=360, labels_across=3)


def control(result: ControlResult, sheet: Sheet = PAGE) -> str:
    """Draw a control chart as SVG.

    Parameters
    ----------
    result
        The chart.
    sheet
        A page's width, or a phone's.

    Returns
    -------
    str
        An ``svg`` element with a title for screen readers; rates in per cent or per 100,000.
    """
    scale = 100.0 if result.kind.measure == "pieces" else float(PER_STITCHES)
    rows = list(result.points.iter_rows(named=True))
    values = [
        row[name] * scale
        for row in rows
        for name in ("rate", "upper")
        if row[name] is not None and math.isfinite(row[name])
    ]
    step = _step(max([*values, 1e-9]) * 1.08)
    top = float(step * math.ceil(max([*values, 1e-9]) * 1.08 / step))
    right = sheet.width - RIGHT
    wide = (right - LEFT) / max(len(rows), 1)
    across = [LEFT + wide * (place + 0.5) for place in range(len(rows))]

    def up(value: float) -> float:
        return TOP + (CONTROL_HEIGHT - TOP - BOTTOM) * (1 - value / top)

    parts = [*_scale(top, step, up, scale, right), *_limits(rows, across, wide, scale, up)]
    parts.append(_usual(result, scale, up, right))
    drawn = [
        (x, up(row["rate"] * scale))
        for x, row in zip(across, rows, strict=True)
        if row["rate"] is not None and math.isfinite(row["rate"])
    ]
    line = " ".join(f"{x:.1f},{y:.1f}" for x, y in drawn)
    parts.append(
        f'<polyline points="{line}" fill="none" stroke="{LIGHT.thread}" stroke-width="1.8"/>'
    )
    parts += [
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.6" fill="{LIGHT.thread}"/>' for x, y in drawn
    ]
    parts += _standouts(result, dict(zip((row["label"] for row in rows), across, strict=True)), up)
    parts += _across(rows, across, sheet)
    return _svg(f"{result.kind.label} by {result.by}", sheet, CONTROL_HEIGHT, parts)


def pareto(result: CostsResult, sheet: Sheet = PAGE) -> str:
    """Draw kinds by cost (or count) as bars in SVG, longest first.

    On a phone each kind stands above its bar instead of beside it.
    """
    shown = result.drawn[:SHOWN]
    sizes = [result.size(each) for each in shown]
    longest = max(sizes, default=1.0)
    beside = sheet == PAGE
    left, row = (LABELS, ROW) if beside else (0, 2 * ROW)
    room = sheet.width - left - (190 if beside else 0)
    parts = []
    for place, (each, size) in enumerate(zip(shown, sizes, strict=True)):
        y = 4 + place * row
        length = room * size / longest
        said = amount_and_share(result, each)
        bar = y + (2 if beside else ROW - 2)
        parts.append(
            f'<rect x="{left}" y="{bar}" width="{max(length, 1):.1f}" height="{ROW - 6}" '
            f'fill="{LIGHT.thread}"/>'
        )
        if beside:
            parts.append(_text(LABELS - 8, y + 15, each.kind.label, anchor="end"))
            parts.append(_text(LABELS + max(length, 1) + 8, y + 15, said))
        else:
            parts.append(_text(0, y + 15, each.kind.label))
            parts.append(_text(sheet.width, y + 15, said, anchor="end"))
    title = "Cost by kind of defect" if result.by_cost else "How often each kind of defect came up"
    return _svg(title, sheet, 12 + row * max(len(shown), 1), parts)


def _svg(title: str, sheet: Sheet, height: int, parts: Iterable[str]) -> str:
    return (
        f'<svg viewBox="0 0 {sheet.width} {height}" role="img" xmlns="http://www.w3.org/2000/svg" '
        f'font-family="{escape(FONT)}">'
        f"<title>{escape(title)}</title>{''.join(parts)}</svg>"
    )


def _text(x: float, y: float, words: str, *, anchor: str = "start", colour: str = LIGHT.ink) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" font-size="12" '
        f'fill="{colour}">{escape(words)}</text>'
    )


def _step(highest: float) -> float:
    rough = highest / 4
    power = 10.0 ** math.floor(math.log10(rough))
    return float(next(power * step for step in STEPS if power * step >= rough))


def _scale(top: float, step: float, up: Up, scale: float, right: float) -> list[str]:
    unit = " %" if scale == 100.0 else ""
    parts = []
    for tick in range(round(top / step) + 1):
        y = up(tick * step)
        parts.append(
            f'<line x1="{LEFT}" x2="{right}" y1="{y:.1f}" y2="{y:.1f}" stroke="{LIGHT.rule}"/>'
        )
        parts.append(
            _text(LEFT - 6, y + 4, f"{tick * step:g}{unit}", anchor="end", colour=LIGHT.quiet)
        )
    return parts


def _limits(
    rows: Sequence[Row], across: Sequence[float], wide: float, scale: float, up: Up
) -> list[str]:
    """Limits as steps, one a point, with the ground between them tinted."""
    parts = []
    for x, row in zip(across, rows, strict=True):
        low, high = row["lower"], row["upper"]
        if low is None or high is None or not (math.isfinite(low) and math.isfinite(high)):
            continue
        left, upper, lower = x - wide / 2, up(high * scale), up(low * scale)
        parts.append(
            f'<rect x="{left:.1f}" y="{upper:.1f}" width="{wide:.1f}" '
            f'height="{lower - upper:.1f}" fill="{LIGHT.usual}" fill-opacity="0.1"/>'
        )
        parts += [
            f'<line x1="{left:.1f}" x2="{left + wide:.1f}" y1="{y:.1f}" y2="{y:.1f}" '
            f'stroke="{LIGHT.usual}"/>'
            for y in (upper, lower)
        ]
    return parts


def _usual(result: ControlResult, scale: float, up: Up, right: float) -> str:
    y = up(result.centre * scale)
    words = f"usual {rate_only(result.kind.measure, result.centre)}"
    return (
        f'<line x1="{LEFT}" x2="{right}" y1="{y:.1f}" y2="{y:.1f}" '
        f'stroke="{LIGHT.usual}" stroke-dasharray="6 4"/>'
        + _text(right, TOP - 5, f"- - {words}", anchor="end", colour=LIGHT.usual)
    )


def _standouts(result: ControlResult, across: Mapping[str, float], up: Up) -> list[str]:
    scale = 100.0 if result.kind.measure == "pieces" else float(PER_STITCHES)
    rates = dict(zip(result.points["label"], result.points["rate"], strict=True))
    marks: dict[str, str] = {signal.label: signal.direction for signal in result.signals}
    parts = []
    for label, direction in marks.items():
        x, y = across[label], up(rates[label] * scale)
        side = -1 if direction == "above" else 1
        colour = LIGHT.alarm if direction == "above" else LIGHT.relief
        corners = f"{x},{y + 7 * side} {x - 6},{y - 5 * side} {x + 6},{y - 5 * side}"
        parts.append(f'<polygon points="{corners}" fill="{colour}" stroke="#fff"/>')
    return parts


def _across(rows: Sequence[Row], across: Sequence[float], sheet: Sheet) -> list[str]:
    every = max(1, math.ceil(len(rows) / sheet.labels_across))
    last = len(rows) - 1
    return [
        _text(
            sheet.width - RIGHT if place == last else x,
            CONTROL_HEIGHT - 10,
            str(row["label"]),
            anchor="end" if place == last else "middle",
            colour=LIGHT.quiet,
        )
        for place, (x, row) in enumerate(zip(across, rows, strict=True))
        if (last - place) % every == 0
    ]
