"""The weekly review in the terminal: words first, figures second."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from logbook.analysis.review import Defect, ReviewResult
from logbook.shop import Shop
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD
from logbook.wording import ABSENT, interval_short, money, number, rate_short

VERDICTS = {
    "more_than_usual": ("more than usual", "bold red"),
    "less_than_usual": ("less than usual", "bold blue"),
    "as_usual": ("as usual", ""),
    "cannot_say": ("cannot say", "dim"),
}


def show_review(screen: Console, result: ReviewResult, shop: Shop) -> None:
    """Print a review from its headline down to the notes."""
    screen.rule(
        f"[bold]{escape(shop.name)} · week {result.week}[/] "
        f"({result.monday.isoformat()} to {result.sunday.isoformat()})",
        align="left",
    )
    screen.print(Text(result.summary(), style="bold"))
    screen.print(Text(result.headline))
    _held(screen, result)
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
    _listed(screen, "Where to look first (common practice)", [each.says for each in result.actions])
    for caution in result.cautions:
        screen.print(Padding(Text(f"Caution: {caution}", style="yellow"), (0, 0, 0, 2)))
    for note in result.notes:
        screen.print(Text(f"note: {note}", style="dim"))


def _held(screen: Console, result: ReviewResult) -> None:
    if not result.held:
        return
    names = ", ".join(each.run_ref for each in result.held)
    screen.print()
    screen.print(Text.assemble(("HELD  ", "bold red"), (names, "bold"), f"  {BROKEN_NEEDLE_HELD}"))


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
    rows = ([result.any_defect] if result.any_defect else []) + list(result.defects)
    for each in rows:
        cells = _row(each)
        if by_cost:
            cells.append(_cost(each))
        table.add_row(*cells)
    return table


def _row(each: Defect) -> list[str | Text]:
    judged = each.judged
    words, style = VERDICTS[judged.verdict]
    if judged.watch:
        words, style = f"{words}, watch", "yellow"
    exposure = judged.exposure
    base = number(exposure) if judged.kind.measure == "pieces" else f"{exposure / 1e6:,.2f} M st."
    return [
        judged.kind.label,
        f"{number(judged.count)} of {base}"
        if judged.kind.measure == "pieces"
        else f"{number(judged.count)} in {base}",
        rate_short(judged.kind.measure, judged.rate),
        interval_short(judged.kind.measure, judged.interval),
        rate_short(judged.kind.measure, judged.rate_before),
        Text(words, style=style),
    ]


def _cost(each: Defect) -> str:
    if each.cost is None or each.cost.cost != each.cost.cost:
        return ABSENT
    return money(each.cost.cost, "").strip()


def _sentences(screen: Console, result: ReviewResult) -> None:
    loud = [
        each
        for each in result.defects
        if each.judged.watch or each.judged.verdict in ("more_than_usual", "less_than_usual")
    ]
    _listed(screen, "More than luck, or worth watching", [each.says for each in loud])
    _listed(screen, "Came in with the goods", [each.says for each in result.kept_apart])


def _listed(screen: Console, heading: str, lines: list[str]) -> None:
    if not lines:
        return
    screen.print(f"\n[bold]{escape(heading)}[/]")
    for line in lines:
        screen.print(Padding(Text(f"• {line}"), (0, 0, 0, 2)))
