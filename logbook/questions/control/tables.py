"""The points of a control chart as a table, with a drawing made of text for the terminal."""

from __future__ import annotations

import math

from logbook.questions.control.result import ControlResult
from logbook.questions.table import Cell, Heading, Table, Tone, table
from logbook.short_figures import ABSENT
from logbook.wording import number, rate_only

BAR_WIDTH = 36
_TONES: dict[str, Tone] = {"above": "alarm", "below": "relief"}
_SIGNS = {"above": " ▲", "below": " ▼"}


def tables(result: ControlResult) -> tuple[Table, ...]:
    """One row a point, in order of time."""
    top = max(filter(math.isfinite, _known(result, "rate", "upper")), default=1.0)
    what = "inspected" if result.kind.measure == "pieces" else "stitches"
    stands_out = {signal.label: signal.direction for signal in result.signals}
    scale = f"0 {'·' * (BAR_WIDTH - 4)} {rate_only(result.kind.measure, top)}"
    rows: list[list[str | Cell]] = [
        [
            str(row["label"]),
            number(row["exposure"]),
            number(row["count"]),
            Cell(
                rate_only(result.kind.measure, row["rate"]),
                _TONES.get(stands_out.get(row["label"], ""), ""),
            ),
            _limits(result, row["lower"], row["upper"]),
            _bar(row, result.centre, top, stands_out.get(row["label"], "")),
        ]
        for row in result.points.iter_rows(named=True)
    ]
    headings = (
        Heading(result.by.capitalize()),
        Heading(what, figures=True),
        Heading(result.kind.label.lower(), figures=True),
        Heading("rate", figures=True),
        Heading("limits", figures=True, wide_only=True),
        Heading(scale, drawn=True),
    )
    return (
        table(
            f"{result.kind.label}, by {result.by}",
            headings,
            rows,
            legend="█ rate   │ usual rate   ┊ limits   ▲ ▼ stands out",
        ),
    )


def _known(result: ControlResult, *names: str) -> list[float]:
    return [value for name in names for value in result.points[name].to_list() if value is not None]


def _limits(result: ControlResult, lower: float | None, upper: float | None) -> str:
    if lower is None or upper is None or not (math.isfinite(lower) and math.isfinite(upper)):
        return ABSENT
    low = rate_only(result.kind.measure, lower).split(" ")[0]
    high = rate_only(result.kind.measure, upper).split(" ")[0]
    return f"{low} to {high}"


def _bar(row: dict[str, float], centre: float, top: float, direction: str) -> Cell:
    def place(value: float) -> int:
        return min(round(value / top * (BAR_WIDTH - 1)), BAR_WIDTH - 1) if top > 0 else 0

    signs = [" "] * BAR_WIDTH
    rate = row["rate"]
    filled = place(rate) + 1 if rate and math.isfinite(rate) else 0
    signs[:filled] = ["█"] * filled
    for bound in (row["lower"], row["upper"]):
        if bound is not None and math.isfinite(bound) and signs[place(bound)] == " ":
            signs[place(bound)] = "┊"
    if signs[place(centre)] == " ":
        signs[place(centre)] = "│"
    return Cell("".join(signs) + _SIGNS.get(direction, ""), _TONES.get(direction, ""))
