"""What goes with a defect, in the terminal: the answer first, figures second."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from logbook.adjusted_comparison import FairCurve
from logbook.questions.factors.analyse import FactorEffect, FactorsResult
from logbook.runs.factors import factor_label, level_label
from logbook.shop import Shop
from logbook.short_figures import count_short, interval_short, rate_short
from logbook.wording import number, percent, times, times_interval

BAR_WIDTH = 24


def show_factors(screen: Console, result: FactorsResult, shop: Shop) -> None:
    """Print the finding, what misleads, the findings as a table, curves, what to keep in mind."""
    screen.rule(
        f"[bold]{escape(shop.name)} · what goes with {escape(result.kind.label.lower())}[/]",
        align="left",
    )
    screen.print(Text(result.finding(), style="bold"))
    for warning in result.warnings:
        screen.print(Text(f"Mind: {warning}", style="yellow"))
    if result.findings:
        screen.print()
        screen.print(_findings(result))
    for curve in result.curves:
        if curve.points and _shown(result, curve):
            screen.print()
            screen.print(Text(_heading(result, curve), style="bold"))
            screen.print(Padding(_curve(result, curve), (0, 0, 0, 2)))
    screen.print()
    for note in result.notes:
        screen.print(Text(f"note: {note}", style="dim"))


def _findings(result: FactorsResult) -> Table:
    wider = percent(result.findings[0].fair.ratio_level, 0)
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    table.add_column("What stands out")
    pieces = result.kind.measure == "pieces"
    for heading in (
        "pieces" if pieces else "stitches",
        "all jobs",
        f"like jobs ({percent(result.level, 0)})",
        f"times the others' ({wider})",
    ):
        table.add_column(heading, justify="right", no_wrap=True)
    table.add_column("evidence", no_wrap=True)
    for each in result.findings:
        fair, measure = each.fair, result.kind.measure
        doubt = interval_short(measure, fair.rate_interval).replace(" %", "")
        table.add_row(
            f"{escape(each.factor_label)}: {escape(each.level_label.partition(', ')[0])}",
            number(fair.exposure) if pieces else f"{fair.exposure / 1e6:.1f} M",
            rate_short(measure, fair.crude_rate),
            f"{rate_short(measure, fair.rate)} ({doubt})",
            Text(_ratio(each), style="red" if fair.ratio > 1 else "blue"),
            each.evidence,
        )
    return table


def _ratio(each: FactorEffect) -> str:
    said = times(each.fair.ratio).removesuffix(" times")
    return f"{said} ({times_interval(each.fair.ratio_interval)})"


def _shown(result: FactorsResult, curve: FairCurve) -> bool:
    """Whether a curve is worth its lines: it rises or falls, or a level of it stands out."""
    found = any(each.fair.factor == curve.factor for each in result.findings)
    return found or curve.p_value < 1 - result.level


def _heading(result: FactorsResult, curve: FairCurve) -> str:
    pieces = result.kind.measure == "pieces"
    over = f"{number(curve.exposure)} {'pieces' if pieces else 'stitches'}"
    doubt = f"{percent(result.level, 0)} interval {times_interval(curve.per_step_interval)}"
    return (
        f"{factor_label(curve.factor)}, every level over the same {over}: "
        f"{times(curve.per_step)} a step up ({doubt})"
    )


def _curve(result: FactorsResult, curve: FairCurve) -> Table:
    measure = result.kind.measure
    top = max(point.rate for point in curve.points)
    table = Table(box=None, pad_edge=False, show_header=False, padding=(0, 2, 0, 0))
    table.add_column()
    for _ in range(3):
        table.add_column(justify="right", no_wrap=True)
    table.add_column(no_wrap=True)
    for point in curve.points:
        table.add_row(
            Text(level_label(curve.factor, point.level)),
            count_short(measure, point.count, point.exposure, millions="million"),
            rate_short(measure, point.rate),
            interval_short(measure, point.interval),
            Text("█" * max(round(point.rate / top * BAR_WIDTH), 1), style="cyan"),
        )
    return table
