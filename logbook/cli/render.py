"""Answers in the terminal: the headline first, figures second, what to keep in mind last."""

from __future__ import annotations

from textwrap import wrap
from typing import Any

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding
from rich.table import Table as Drawn
from rich.text import Text

from logbook.questions.answer import Answer
from logbook.questions.table import Section, Table

NARROWEST = 8
"""A heading of figures is wrapped to their width, but to no fewer letters."""
STYLES = {"": "", "alarm": "red", "relief": "blue", "watch": "yellow", "quiet": "dim"}


def show_answer(screen: Console, answer: Answer[Any]) -> None:
    """Print alarms, the headline, what would mislead, tables, sentences, sections and notes."""
    screen.rule(f"[bold]{escape(answer.shop.name)} · {escape(answer.title)}[/]", align="left")
    for section in answer.sections:
        if section.alarm:
            screen.print(
                Text.assemble((f"{section.heading}  ", "bold red"), "  ".join(section.lines))
            )
            screen.print()
    screen.print(Text(answer.headline, style="bold"))
    for warning in answer.pressing:
        screen.print(Text(f"Mind: {warning}", style="yellow"))
    shown = [each for each in answer.tables if not each.folded and each.rows]
    for each in shown:
        screen.print()
        if len(shown) > 1:
            screen.print(Text(each.caption, style="bold"))
        screen.print(rendered(each))
        if each.legend:
            screen.print(Text(each.legend, style="dim"))
    if answer.sentences:
        screen.print()
    for sentence in answer.sentences:
        first, *beneath = sentence.split("\n")
        screen.print(Padding(Text(f"• {first}"), (0, 0, 0, 2)))
        for line in beneath:
            style = "yellow" if line.startswith("Mind:") else ""
            screen.print(Padding(Text(line, style=style), (0, 0, 0, 6)))
    for section in answer.sections:
        if not section.alarm:
            _show_section(screen, section)
    if answer.notes:
        screen.print()
    for note in answer.notes:
        screen.print(Text(f"note: {note}", style="dim"))


def _show_section(screen: Console, section: Section) -> None:
    if section.lines:
        screen.print(Text(f"\n{section.heading}", style="bold"))
    shown = [
        *(Text(f"• {line}") for line in section.lines),
        *(Text(f"Caution: {caution}", style="yellow") for caution in section.cautions),
        *([Text(section.note, style="dim")] if section.note else []),
    ]
    for each in shown:
        screen.print(Padding(each, (0, 0, 0, 2)))


def rendered(table: Table) -> Drawn:
    """A table as the terminal draws it."""
    drawn = Drawn(box=None, pad_edge=False, header_style="bold", padding=(0, 2, 0, 0))
    for place, heading in enumerate(table.headings):
        # Names may be typed by users: shown as they are, never read as markup.
        words = heading.words
        if heading.figures:
            widest = max((len(row[place].words) for row in table.rows), default=0)
            words = "\n".join(wrap(words, max(widest, NARROWEST), break_long_words=False))
        drawn.add_column(
            Text(words),
            justify="right" if heading.figures else "left",
            no_wrap=heading.drawn,
        )
    for row in table.rows:
        drawn.add_row(*(Text(cell.words, style=STYLES[cell.tone]) for cell in row))
    return drawn
