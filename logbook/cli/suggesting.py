"""Advice in the terminal: the answer first, figures second, cautions beside what they are about."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from logbook.questions.advice.analyse import AdviceResult, Suggestion
from logbook.questions.advice.sentences import HOW_TOLD, like_runs
from logbook.shop import Shop
from logbook.short_figures import ABSENT
from logbook.wording import number, percent, percent_interval

EVIDENCE = {
    "strong": Text("strong", style="green"),
    "fair": Text("fair", style="yellow"),
    "thin": Text("thin", style="dim"),
}


def show_advice(screen: Console, result: AdviceResult, shop: Shop) -> None:
    """Print the finding, the setup now, suggestions with cautions and trials, rules, notes."""
    screen.rule(
        f"[bold]{escape(shop.name)} · setup for {escape(result.job.fabric)}[/]", align="left"
    )
    screen.print(Text(result.finding(), style="bold"))
    screen.print()
    now = ", ".join(f"{label.lower()} {word}" for label, word in result.setup_words())
    screen.print(
        Text(
            f"Now: {now}. Expected: {percent(result.expected_rate)} of pieces with a defect "
            f"({percent(result.level, 0)} interval {percent_interval(result.interval)}), resting "
            f"on {number(result.pieces)} pieces in {like_runs(result.runs)}."
        )
    )
    if result.suggestions:
        screen.print()
        screen.print(_table(result))
        screen.print(Text(HOW_TOLD, style="dim"))
    for place, (each, line) in enumerate(
        zip(result.suggestions, result.lines(), strict=True), start=1
    ):
        screen.print()
        screen.print(Text(f"{place}. {line}"))
        for caution in each.cautions:
            screen.print(Padding(Text(f"Mind: {caution}", style="yellow"), (0, 0, 0, 3)))
        if each.trial is not None:
            notes = () if each.trial.too_long else each.trial.notes
            said = " ".join((each.trial.finding(), *notes))
            screen.print(Padding(Text(f"Trial: {said}"), (0, 0, 0, 3)))
    if result.rules:
        screen.print()
        screen.print(Text("What common practice says of the setup now", style="bold"))
    for rule in result.rules:
        says = f"Where {rule.rule.if_text}: {rule.rule.then_text}"
        screen.print(
            Padding(Text(f"• {says} ({rule.rule.status}, {rule.rule.source})"), (0, 0, 0, 2))
        )
        screen.print(Padding(Text(rule.record, style="dim"), (0, 0, 0, 4)))
    screen.print()
    for note in result.notes:
        screen.print(Text(f"note: {note}", style="dim"))


def _table(result: AdviceResult) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    table.add_column("#", justify="right")
    table.add_column("Change")
    saved = f"saves, {result.currency} per 100"
    for heading in (saved, "cautiously", "95 % interval", "defective", "pieces"):
        table.add_column(heading, justify="right")
    table.add_column("evidence")
    for place, each in enumerate(result.suggestions, start=1):
        table.add_row(
            str(place),
            escape(each.words()),
            *_saved(each),
            f"{each.saving_interval[0]:,.2f} to {each.saving_interval[1]:,.2f}",
            percent(each.expected_rate),
            number(each.pieces),
            EVIDENCE[each.evidence],
        )
    return table


def _saved(each: Suggestion) -> tuple[str, str]:
    """Say the best guess and the cautious figure, which thin evidence has none of."""
    if each.evidence == "thin" or each.saving_per_100 <= 0:
        return f"perhaps {each.best_guess_per_100:,.2f}", ABSENT
    return f"{each.best_guess_per_100:,.2f}", f"{each.saving_per_100:,.2f}"
