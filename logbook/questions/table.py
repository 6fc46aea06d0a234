"""One table for every face, and sentences under headings: terminal, page and paper render them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

Tone: TypeAlias = Literal["", "alarm", "relief", "watch", "quiet"]


@dataclass(frozen=True, slots=True)
class Heading:
    """A column: its words, whether it holds figures, and where it is left out.

    ``wide_only`` columns are left out on a phone; ``drawn`` ones hold a drawing made of text,
    which the terminal shows and pages leave to their figure.
    """

    words: str
    figures: bool = False
    wide_only: bool = False
    drawn: bool = False


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell with a tone; the lines of ``narrow`` stand below the words on a phone.

    ``address`` is a page with what is behind it, which pages lead to.
    """

    words: str
    tone: Tone = ""
    narrow: tuple[str, ...] = ()
    address: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A table of an answer.

    Attributes
    ----------
    caption
        What it shows: a heading where it stands among others, and for screen readers.
    headings, rows
        Every row has a value for every heading.
    folded
        Evidence: pages open it on demand, and the terminal leaves it out.
    legend
        How to read its drawing or signs, in one line; empty where nothing needs it.
    """

    caption: str
    headings: tuple[Heading, ...]
    rows: tuple[tuple[Cell, ...], ...]
    folded: bool = False
    legend: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """Sentences under a heading of their own.

    Attributes
    ----------
    heading, lines
        What it is about, and the sentences.
    cautions
        Those that never stand apart from the lines.
    note
        How to take the lines; empty where nothing needs it.
    alarm
        Whether it stands in red above everything else.
    """

    heading: str
    lines: tuple[str, ...]
    cautions: tuple[str, ...] = ()
    note: str = ""
    alarm: bool = False


def table(
    caption: str,
    headings: Sequence[Heading],
    rows: Sequence[Sequence[str | Cell]],
    *,
    folded: bool = False,
    legend: str = "",
) -> Table:
    """Build a table; plain words become cells without a tone.

    Raises
    ------
    ValueError
        A row has not one value for every heading.
    """
    made = tuple(
        tuple(each if isinstance(each, Cell) else Cell(each) for each in row) for row in rows
    )
    if any(len(row) != len(headings) for row in made):
        raise ValueError(f"table {caption!r}: every row needs {len(headings)} values")
    return Table(caption, tuple(headings), made, folded=folded, legend=legend)
