"""The weekly review in the terminal: words first, figures second."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from logbook.questions.review.analyse import Defect, ReviewResult
from logbook.questions.review.decided import NOT_A_TRIAL
from logbook.shop import Shop
from logbook.short_figures import count_short, interval_short, money_or_not_known, rate_short
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD

STYLES = {
    "more_than_usual": "bold red",
    "less_than_usual": "bold blue",
    "as_usual": "",
    "cannot_say": "dim",
}


def show_review(screen: Console, result: ReviewResult, shop: Shop) -> None:
    """Print a review from its headline down to the notes."""
    screen.rule(
        f"[bold]{escape(shop.name)} · week {result.week}[/] "
        f"({result.monday.isoformat()} to {result.sunday.isoformat()})",
        align="left",
    )
    _held(screen, result)
    screen.print(Text(result.summary(), style="bold"))
    screen.print(Text(result.headline))
    if result.defects:
        screen.print()
        screen.print(_defects(result))
    _sentences(screen, result)
    _listed(screen, "What changed in the setup", [each.says for each in result.changed])
    _listed(
        screen,
        "Runs to look at",
        [f"{each.run_ref}: {each.why}" for each in result.look_at],
    )
    _listed(
        screen,
        "Last actions, and whether they worked",
        [f"{each.says}. {each.result}" for each in reversed(result.decided_before)],
    )
    if any(each.outcome is not None for each in result.decided_before):
        screen.print(Padding(Text(NOT_A_TRIAL, style="dim"), (0, 0, 0, 2)))
    _listed(
        screen,
        "This week's action",
        [f"{each.says}. {each.result}" for each in result.decided_now],
    )
    _listed(screen, "Where to look first (common practice)", [each.says for each in result.actions])
    for caution in result.cautions:
        screen.print(Padding(Text(f"Caution: {caution}", style="yellow"), (0, 0, 0, 2)))
    for note in result.notes:
        screen.print(Text(f"note: {note}", style="dim"))


def _held(screen: Console, result: ReviewResult) -> None:
    if not (names := result.held_names()):
        return
    screen.print(Text.assemble(("HELD  ", "bold red"), (names, "bold"), f"  {BROKEN_NEEDLE_HELD}"))
    screen.print()


def _defects(result: ReviewResult) -> Table:
    by_cost = result.ordered_by == "cost"
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    table.add_column("Defect")
    table.add_column("this week", justify="right")
    table.add_column("rate", justify="right")
    table.add_column("95 % interval", justify="right")
    table.add_column("weeks before", justify="right")
    table.add_column("verdict")
    if by_cost:
        table.add_column(f"cost, {result.currency}", justify="right")
    for each in result.rows:
        cells = _row(each)
        if by_cost:
            cells.append(money_or_not_known(each.amount))
        table.add_row(*cells)
    return table


def _row(each: Defect) -> list[str | Text]:
    judged = each.judged
    measure = judged.kind.measure
    style = "yellow" if judged.watch else STYLES[judged.verdict]
    return [
        judged.kind.label,
        count_short(measure, judged.count, judged.exposure, millions="million"),
        rate_short(measure, judged.rate),
        interval_short(measure, judged.interval),
        rate_short(measure, judged.rate_before),
        Text(each.verdict_words, style=style),
    ]


def _sentences(screen: Console, result: ReviewResult) -> None:
    _listed(
        screen, "More than luck, or worth watching", [each.says for each in result.standing_out]
    )
    _listed(screen, "Came in with the goods", [each.says for each in result.kept_apart])


def _listed(screen: Console, heading: str, lines: list[str]) -> None:
    if not lines:
        return
    screen.print(f"\n[bold]{escape(heading)}[/]")
    for line in lines:
        screen.print(Padding(Text(f"• {line}"), (0, 0, 0, 2)))
