"""A control chart in the terminal: one line a point, drawn with text."""

from __future__ import annotations

import math

from rich.console import Console
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from logbook.questions.control.analyse import ControlResult
from logbook.wording import number, rate_only

BAR_WIDTH = 36


def show_chart(screen: Console, result: ControlResult) -> None:
    """Print the sentence, a bar a point, the signals in words and the notes."""
    screen.print(f"[bold]{escape(result.finding())}[/]\n")
    top = max(
        (
            value
            for name in ("rate", "upper")
            for value in result.points[name].to_list()
            if value is not None and math.isfinite(value)
        ),
        default=1.0,
    )
    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column(result.by)
    what = "inspected" if result.kind.measure == "pieces" else "stitches"
    for heading in (what, result.kind.label.lower(), "rate", "limits"):
        table.add_column(heading, justify="right")
    table.add_column("0 " + "·" * (BAR_WIDTH - 4) + f" {rate_only(result.kind.measure, top)}")
    signals: dict[str, str] = {}
    for signal in result.signals:
        signals[signal.label] = signal.direction
    for row in result.points.iter_rows(named=True):
        table.add_row(
            str(row["label"]),
            number(row["exposure"]),
            number(row["count"]),
            rate_only(result.kind.measure, row["rate"]),
            _limits(result, row["lower"], row["upper"]),
            _bar(row, result.centre, top, signals.get(row["label"])),
        )
    screen.print(table)
    screen.print("█ rate   │ usual rate   ┊ limits   ▲ ▼ stands out", style="dim")
    for says in _latest(result):
        screen.print(f"• {says}", markup=False)
    for note in result.notes:
        screen.print(f"note: {note}", style="dim", markup=False)


def _limits(result: ControlResult, lower: float | None, upper: float | None) -> str:
    if lower is None or upper is None or not (math.isfinite(lower) and math.isfinite(upper)):
        return "–"
    low = rate_only(result.kind.measure, lower).split(" ")[0]
    high = rate_only(result.kind.measure, upper).split(" ")[0]
    return f"{low} to {high}"


def _bar(row: dict[str, float], centre: float, top: float, direction: str | None) -> Text:
    def place(value: float) -> int:
        return min(round(value / top * (BAR_WIDTH - 1)), BAR_WIDTH - 1) if top > 0 else 0

    cells = [" "] * BAR_WIDTH
    rate = row["rate"]
    filled = place(rate) + 1 if rate is not None and math.isfinite(rate) else 0
    for position in range(filled if rate else 0):
        cells[position] = "█"
    for bound in (row["lower"], row["upper"]):
        if bound is not None and math.isfinite(bound) and cells[place(bound)] == " ":
            cells[place(bound)] = "┊"
    if cells[place(centre)] == " ":
        cells[place(centre)] = "│"
    style = {"above": "red", "below": "blue"}.get(direction or "", "cyan")
    mark = {"above": " ▲", "below": " ▼"}.get(direction or "", "")
    return Text("".join(cells), style=style) + Text(mark, style=style)


def _latest(result: ControlResult) -> list[str]:
    """Say a pattern once that goes on from point to point: where it stands now."""
    places = {label: place for place, label in enumerate(result.points["label"])}
    goes_on = {
        (places[signal.label] - 1, signal.rule, signal.direction) for signal in result.signals
    }
    return [
        signal.says
        for signal in result.signals
        if signal.rule == "beyond_limits"
        or (places[signal.label], signal.rule, signal.direction) not in goes_on
    ]
