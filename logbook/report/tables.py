"""A table as HTML: read by screen readers, wrapped on phones, every text escaped."""

from __future__ import annotations

from html import escape

from logbook.questions.table import Cell, Heading, Table


def table_html(table: Table, *, linked: bool = False) -> str:
    """Write a table; its drawings made of text are left to the figure.

    ``linked`` leads from cells to the pages with what is behind them; on paper there are none.
    """
    kept = [place for place, heading in enumerate(table.headings) if not heading.drawn]
    headings = [table.headings[place] for place in kept]
    head = "".join(
        f'<th scope="col" class="{_classes(each)}">{escape(each.words)}</th>' for each in headings
    )
    body = "".join(
        f"<tr>{_row(headings, [row[place] for place in kept], linked=linked)}</tr>"
        for row in table.rows
    )
    caption = escape(table.caption)
    return (
        f'<div class="table" tabindex="0" role="region" aria-label="{caption}">'
        f"<table><caption>{caption}</caption><thead><tr>{head}</tr></thead>"
        f"<tbody>{body}</tbody></table></div>"
    )


def _row(headings: list[Heading], row: list[Cell], *, linked: bool) -> str:
    cells = []
    for place, (heading, cell) in enumerate(zip(headings, row, strict=True)):
        opening, closing = ('th scope="row"', "th") if place == 0 else ("td", "td")
        lines = "".join(
            f'<span class="narrow-only">{_unparted(line)}</span>' for line in cell.narrow
        )
        words = _unparted(cell.words)
        if linked and cell.address:
            words = f'<a href="{escape(cell.address)}" target="_self">{words}</a>'
        words += lines
        cells.append(f'<{opening} class="{_classes(heading)} {cell.tone}">{words}</{closing}>')
    return "".join(cells)


def _unparted(words: str) -> str:
    """Escape words, with a unit kept on the line of its figure."""
    return escape(words).replace(" %", "\N{NO-BREAK SPACE}%")


def _classes(heading: Heading) -> str:
    named = (("figures", heading.figures), ("wide-only", heading.wide_only))
    return " ".join(name for name, wanted in named if wanted)
