"""Axes of a drawing: where values stand, and which of them are named without touching."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, Literal

from logbook.report.figure_svg.text import Line, height, lines_of, widest, wrapped

Kind = Literal["linear", "log", "category"]
Tick = tuple[float, tuple[Line, ...]]
Span = tuple[float, float]
STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
APART = 8.0
"""Pixels between two names on an axis."""
MARGIN = 2.0
"""Pixels between a name and the edge of the sheet."""
PADDED = 0.06
"""Part of the values' span that is left free at either end."""
FEWEST_BESIDE = 48.0
"""Names of categories are wrapped into so many pixels at least."""
TALLEST_STEP, WIDEST_STEP = 46.0, 84.0
"""About so many pixels between two values that are named."""


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis: values (or places of categories) from ``low`` to ``high``, start pixel to end.

    ``low`` lies at ``start``, whichever is larger: an axis may run backwards.
    """

    kind: Kind
    low: float
    high: float
    start: float
    end: float
    categories: tuple[str, ...] = ()
    _order: dict[str, int] = field(default_factory=dict)

    def number(self, value: Any) -> float | None:
        """Where a value lies along the axis; None for what has no place on it."""
        if value is None:
            return None
        if self.kind == "category":
            place = self._order.get(str(value))
            return None if place is None else float(place)
        found = float(value)
        if self.kind == "log":
            found = math.log10(found) if found > 0 else math.nan
        return found if math.isfinite(found) else None

    def at(self, number: float) -> float:
        """The pixel of a place along the axis."""
        span = self.high - self.low or 1.0
        return self.start + (number - self.low) / span * (self.end - self.start)

    def pixel(self, value: Any) -> float | None:
        """The pixel of a value; None for what has no place."""
        number = self.number(value)
        return None if number is None else self.at(number)

    def holds(self, pixel: float) -> bool:
        """Whether a pixel lies on the axis, but for rounding."""
        first, last = sorted((self.start, self.end))
        return first - 0.5 <= pixel <= last + 0.5


def axis_of(told: Any, values: Iterable[Any], *, from_nought: bool) -> Axis:
    """Read an axis of a figure; it is stretched over pixels by :func:`stretched`.

    Parameters
    ----------
    told
        The axis as the figure's layout has it.
    values
        All that is drawn along it.
    from_nought
        Whether bars stand on it.
    """
    known = [value for value in values if value is not None]
    kind = _kind(told, known)
    if kind == "category":
        first = [str(each) for each in told.categoryarray] if told.categoryarray is not None else []
        names = tuple(dict.fromkeys((*first, *map(str, known))))
        low, high = -0.5, max(len(names), 1) - 0.5
    else:
        names = ()
        low, high = _span(told, kind, known, from_nought=from_nought)
    if told.range is not None:
        low, high = map(float, told.range)
    elif told.autorange == "reversed":
        low, high = high, low
    order = {name: place for place, name in enumerate(names)}
    return Axis(kind, low, high, 0.0, 1.0, names, order)


def stretched(axis: Axis, start: float, end: float) -> Axis:
    """The same axis over other pixels."""
    return Axis(axis.kind, axis.low, axis.high, start, end, axis.categories, axis._order)


def ticks_across(axis: Axis, told: Any, edge: float) -> list[Tick]:
    """Which values of an axis across are named, so that no name touches the next or the edge."""

    def span(tick: Tick) -> Span:
        return kept_within(axis.at(tick[0]), widest(tick[1]), edge)

    room = abs(axis.end - axis.start)
    if axis.kind == "category" and axis.categories:
        room = max(room / len(axis.categories) - APART, FEWEST_BESIDE)
    return _ticks(axis, told, abs(axis.end - axis.start) / WIDEST_STEP, span, room)


def ticks_up(axis: Axis, told: Any, room: float) -> list[Tick]:
    """Which values of an axis upwards are named, each name within the room beside it."""

    def span(tick: Tick) -> Span:
        half = (height(tick[1]) - APART + 1) / 2
        return axis.at(tick[0]) - half, axis.at(tick[0]) + half

    return _ticks(axis, told, abs(axis.end - axis.start) / TALLEST_STEP, span, room)


def kept_within(at: float, wide: float, edge: float) -> Span:
    """From where to where a name below an axis goes, so that it stays on the sheet."""
    left = min(max(at - wide / 2, MARGIN), edge - MARGIN - wide)
    return left, left + wide


def row_needed(axis: Axis, told: Any, room: float) -> float:
    """How high a row of categories must be for each to have its name."""
    if axis.kind != "category" or told.showticklabels is False or told.tickvals is not None:
        return 0.0
    names = (wrapped(lines_of(name), room) for name in axis.categories)
    return max((height(lines) + 2 for lines in names), default=0.0)


def _ticks(
    axis: Axis, told: Any, most: float, span: Callable[[Tick], Span], room: float
) -> list[Tick]:
    if told.showticklabels is False:
        return []
    most = max(2.0, min(most, told.nticks or math.inf))
    if told.tickvals is not None:
        words = told.ticktext if told.ticktext is not None else map(_figure, told.tickvals)
        pairs = zip(told.tickvals, words, strict=True)
        named = [(axis.number(value), str(text)) for value, text in pairs]
        ticks = [(n, lines_of(text)) for n, text in named if n is not None]
    elif axis.kind == "category":
        ticks = [(float(n), lines_of(name)) for n, name in enumerate(axis.categories)]
        if told.nticks and len(ticks) > told.nticks:
            ticks = ticks[::-1][:: math.ceil(len(ticks) / told.nticks)][::-1]
    else:
        ticks = [(n, lines_of(text)) for n, text in _round_values(axis, most, told.tickformat)]
    ticks = [(n, wrapped(lines, room)) for n, lines in ticks if axis.holds(axis.at(n))]
    every = 1
    while every < len(ticks) and _touch(map(span, ticks[::-1][::every])):
        every += 1
    return ticks[::-1][::every][::-1]


def _touch(spans: Iterable[Span]) -> bool:
    return any(one[1] + APART > other[0] for one, other in pairwise(sorted(spans)))


def _round_values(axis: Axis, most: float, form: str | None) -> list[tuple[float, str]]:
    low, high = sorted((axis.low, axis.high))
    if axis.kind == "log":
        powers = range(math.floor(low), math.ceil(high) + 1)
        values = [factor * 10.0**power for power in powers for factor in (1, 2, 5)]
        return [(math.log10(value), _figure(value)) for value in values]
    rough = (high - low) / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * each for each in STEPS if power * each >= rough * 0.999)
    first = math.ceil(low / step - 1e-9)
    values = [step * place for place in range(first, math.floor(high / step + 1e-9) + 1)]
    digits = max(0, -math.floor(math.log10(step) + 1e-9))
    digits += round(step / 10.0 ** math.floor(math.log10(step)), 1) == 2.5
    form = form or f",.{digits}f"
    said = (format(value + 0.0, form).replace("-", "\N{MINUS SIGN}") for value in values)
    return list(zip(values, said, strict=True))


def _figure(value: Any) -> str:
    return f"{value:g}" if isinstance(value, int | float) else str(value)


def _kind(told: Any, values: Sequence[Any]) -> Kind:
    if told.type in ("linear", "log", "category"):
        return told.type  # type: ignore[no-any-return]
    return "category" if any(isinstance(value, str) for value in values) else "linear"


def _span(
    told: Any, kind: Kind, values: Sequence[Any], *, from_nought: bool
) -> tuple[float, float]:
    if kind == "log":
        found = [math.log10(value) for value in values if value > 0]
    else:
        found = [float(value) for value in values if math.isfinite(value)]
    if not found:
        return 0.0, 1.0
    low, high = min(found), max(found)
    nought = kind == "linear" and (from_nought or told.rangemode in ("tozero", "nonnegative"))
    if nought:
        low, high = min(low, 0.0), max(high, 0.0)
    free = ((high - low) or abs(high) or 1.0) * PADDED
    return (
        low if nought and low == 0 else low - free,
        high if nought and high == 0 else high + free,
    )
