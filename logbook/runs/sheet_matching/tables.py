"""Where the table lies in a grid: its heading, its rows, and what stands round them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from logbook.runs.sheet_matching.dates import take_apart
from logbook.runs.sheet_matching.grids import Grid
from logbook.runs.sheet_matching.heading_words import LAST_WORDS, NEAR, HeadingWords, heading_text
from logbook.runs.sheet_matching.plain_words import is_name

SEARCHED_ROWS = 80
FEWEST_KNOWN = 2.0
_NUMBER_LIKE = re.compile(r"[\d.,:%/\-\s]+")


@dataclass(frozen=True, slots=True, eq=False)
class FoundTable:
    """One table of a grid.

    ``heading_row`` is the row (from 1) of its heading, the first of two where it has two, of which
    ``lower`` has the lower one; ``first_row`` and ``last_row`` are those of its data.
    """

    grid: Grid
    headings: tuple[str, ...]
    heading_row: int
    heading_rows: int
    first_row: int
    last_row: int
    above: tuple[str, ...] = ()
    lower: tuple[str, ...] = ()

    @property
    def shape(self) -> tuple[str, ...]:
        """The headings in the form by which a kept reading is found."""
        return shape_of(self.headings)


def shape_of(headings: Sequence[str]) -> tuple[str, ...]:
    """The headings in the form by which a kept reading is found."""
    plain_ones = [heading_text(heading) for heading in headings]
    while plain_ones and not plain_ones[-1]:
        plain_ones.pop()
    return tuple(plain_ones)


def find_tables(grid: Grid, words: HeadingWords) -> tuple[FoundTable, ...]:
    """The tables of a grid from top to bottom; empty where no row names columns."""
    found: list[FoundTable] = []
    start = 0
    while start < len(grid.rows):
        head = _best_head(grid.rows, start, words)
        if head is None:
            break
        place, rows, headings, lower = head
        last = _last_row(grid.rows, place + rows, headings, words)
        above = tuple(cell for row in grid.rows[start:place] for cell in row if cell.strip())
        found.append(
            FoundTable(grid, headings, place + 1, rows, place + rows + 1, last, above, lower)
        )
        start = last
    return tuple(found)


def _best_head(
    rows: Sequence[Sequence[str]], start: int, words: HeadingWords
) -> tuple[int, int, tuple[str, ...], tuple[str, ...]] | None:
    best: tuple[float, int, int, tuple[str, ...], tuple[str, ...]] = (0.0, 0, 0, (), ())
    for place in range(start, min(start + SEARCHED_ROWS, len(rows))):
        row = rows[place]
        if not _may_head(row):
            continue
        single = _score(row, words)
        if single > best[0]:
            best = (single, place, 1, tuple(row), ())
        if place + 1 < len(rows) and _may_head(rows[place + 1]):
            both = combined(row, rows[place + 1])
            below = [*rows[place + 1], *[""] * (len(both) - len(rows[place + 1]))]
            score = _score(both, words, below)
            if score > max(best[0], single, _score(below, words)):
                best = (score, place, 2, both, tuple(below))
    score, place, height, headings, lower = best
    if score < FEWEST_KNOWN:
        return None
    whole = _trimmed(headings)
    return place, height, whole, tuple(" ".join(cell.split()) for cell in lower[: len(whole)])


def _trimmed(headings: Sequence[str]) -> tuple[str, ...]:
    width = max((place + 1 for place, cell in enumerate(headings) if cell.strip()), default=0)
    return tuple(" ".join(cell.split()) for cell in headings[:width])


def _may_head(row: Sequence[str]) -> bool:
    filled = [cell for cell in row if cell.strip()]
    if len(filled) < 2:
        return False
    numbers = sum(
        bool(_NUMBER_LIKE.fullmatch(cell)) or take_apart(cell) is not None for cell in filled
    )
    return numbers * 4 <= len(filled) and sum(map(is_name, filled)) * 2 >= len(filled)


def _score(headings: Sequence[str], words: HeadingWords, lower: Sequence[str] = ()) -> float:
    seen: set[str] = set()
    score = 0.0
    for place, heading in enumerate(headings):
        if not heading.strip():
            continue
        plain_one = heading_text(heading)
        meanings = words.meanings(heading)
        best = meanings[0].score if meanings else 0.0
        if lower and (below := words.meanings(lower[place])):
            best = max(best, below[0].score)
        worth = (
            1.0 if best >= 1 else 0.8 if best >= NEAR * 0.86 else 0.5 if best >= LAST_WORDS else 0.0
        )
        score += worth * (0.2 if plain_one in seen else 1.0)
        seen.add(plain_one)
    return score


def combined(upper: Sequence[str], lower: Sequence[str]) -> tuple[str, ...]:
    """Two rows of headings as one: what spans several columns stands before each of them."""
    width = max(len(upper), len(lower))
    above = [*upper, *[""] * (width - len(upper))]
    below = [*lower, *[""] * (width - len(lower))]
    spanning = ""
    headings = []
    for over, under in zip(above, below, strict=True):
        if over.strip():
            spanning = over
        elif not under.strip():
            spanning = ""
        headings.append(f"{spanning} {under}".strip() if under.strip() else over.strip())
    return tuple(headings)


def _last_row(
    rows: Sequence[Sequence[str]], first: int, headings: Sequence[str], words: HeadingWords
) -> int:
    """Where the table ends: before a row that is the heading of another one."""
    own = set(shape_of(headings))
    blank = False
    for place in range(first, len(rows)):
        row = rows[place]
        filled = [cell for cell in row if cell.strip()]
        if not filled:
            blank = True
            continue
        if len(filled) >= 3 and _may_head(row):
            known = sum(words.knows(cell) for cell in filled)
            same = sum(heading_text(cell) in own for cell in filled)
            if blank and known >= 3 and known * 2 >= len(filled) and same * 2 < len(filled):
                return place
        blank = False
    return len(rows)
