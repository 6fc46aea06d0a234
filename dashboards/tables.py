"""Tables as plain HTML: read by screen readers, wrapped on phones, every text escaped.

What a table shows can be downloaded with every digit, for a spreadsheet.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import polars as pl
import streamlit as st

from logbook.book.export import guarded


@dataclass(frozen=True, slots=True)
class Heading:
    """A column: its words, whether it holds figures, whether a phone leaves it out."""

    words: str
    figures: bool = False
    wide_only: bool = False


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell with a tone: ``alarm``, ``relief`` or ``watch``.

    The lines of ``narrow`` stand below the words on a phone, for columns that it leaves out.
    """

    words: str
    tone: str = ""
    narrow: tuple[str, ...] = ()


def table(
    headings: Sequence[Heading], rows: Sequence[Sequence[str | Cell]], *, caption: str
) -> None:
    """Write a table; the caption is for screen readers."""
    head = "".join(
        f'<th scope="col" class="{_classes(heading)}">{escape(heading.words)}</th>'
        for heading in headings
    )
    body = "".join(f"<tr>{_row(headings, row)}</tr>" for row in rows)
    st.html(
        f'<div class="table" tabindex="0" role="region" aria-label="{escape(caption)}">'
        f"<table><caption>{escape(caption)}</caption><thead><tr>{head}</tr></thead>"
        f"<tbody>{body}</tbody></table></div>"
    )


def download_figures(frame: pl.DataFrame, *, name: str) -> None:
    """Offer the figures behind a table as CSV; ``name`` is that of the file, without its ending."""
    # A cell of a spreadsheet holds one text: several in one are written after one another.
    lists = [column for column, kind in frame.schema.items() if kind == pl.List(pl.String)]
    frame = frame.with_columns(pl.col(lists).list.join("; "))
    st.download_button(
        "Download the figures (CSV)",
        # The mark at the start tells spreadsheets that letters with accents follow.
        guarded(frame).write_csv(include_bom=True).encode(),
        file_name=f"{name}.csv",
        mime="text/csv",
        key=f"csv-{name}",
    )


def _row(headings: Sequence[Heading], row: Sequence[str | Cell]) -> str:
    cells = []
    for place, (heading, value) in enumerate(zip(headings, row, strict=True)):
        cell = value if isinstance(value, Cell) else Cell(value)
        tag = 'th scope="row"' if place == 0 else "td"
        end = "th" if place == 0 else "td"
        lines = "".join(
            f'<span class="narrow-only">{_unparted(line)}</span>' for line in cell.narrow
        )
        words = f"{_unparted(cell.words)}{lines}"
        cells.append(f'<{tag} class="{_classes(heading)} {cell.tone}">{words}</{end}>')
    return "".join(cells)


def _unparted(words: str) -> str:
    """Escape words, with a unit kept on the line of its figure."""
    return escape(words).replace(" %", "\N{NO-BREAK SPACE}%")


def _classes(heading: Heading) -> str:
    return " ".join(
        name
        for name, wanted in (("figures", heading.figures), ("wide-only", heading.wide_only))
        if wanted
    )
