"""Which columns a heading may mean, by its words alone."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from rapidfuzz import fuzz, process

from logbook.runs.columns import columns_with
from logbook.runs.sheet_matching.plain_words import plain
from logbook.vocabulary.defects import DEFECT_KINDS
from logbook.vocabulary.own_columns import Own, own_defect_kinds
from logbook.vocabulary.sheet_words import LANGUAGES, SIZES, SPECIAL, spellings

EXACT, LABEL, NEAR, LAST_WORDS, ONE_WORD = 1.0, 1.0, 0.92, 0.8, 0.6
ALIKE = 86
"""Of 100, by edit distance: less is another word."""
SHORTEST_NEAR = 4
_UNIT = re.compile(r"[(\[{]([^()\[\]{}]*)[)\]}]\s*$")
SIZE = "pieces_of_a_size"


@dataclass(frozen=True, slots=True)
class Meant:
    """A column that a heading may mean: how surely by its words, and by which spelling."""

    column: str
    score: float
    spelling: str


class HeadingWords:
    """The spellings of every column of a shop's sheet, in every language."""

    def __init__(self, own: Sequence[Own] = ()) -> None:
        self._columns: dict[str, list[str]] = {}
        there = {column.name for column in columns_with(own)} | set(SPECIAL)
        for column in columns_with(own):
            for spelling in (column.name, column.label, *column.headings):
                self._add(spelling, column.name)
        for language in LANGUAGES:
            for name, words in language.headings.items():
                if name in there:
                    for spelling in spellings(words):
                        self._add(spelling, name)
            for name, words in language.kinds.items():
                for spelling in spellings(words):
                    self._add(spelling, name)
        for kind in (*DEFECT_KINDS, *own_defect_kinds(own)):
            self._add(kind.label, kind.name)
        # "Stitches" alone may be of one piece or of all, whatever a guess elsewhere says.
        self._columns["stitches"] = ["stitches"]
        self._long = [spelling for spelling in self._columns if len(spelling) >= SHORTEST_NEAR]
        self._remembered: dict[str, tuple[Meant, ...]] = {}

    def _add(self, spelling: str, column: str) -> None:
        meant = self._columns.setdefault(plain(spelling), [])
        if column not in meant:
            meant.append(column)

    def knows(self, heading: str) -> bool:
        """Whether a heading is a spelling to the letter."""
        words = heading_text(heading)
        return words in self._columns or words in SIZES

    def meanings(self, heading: str) -> tuple[Meant, ...]:
        """The columns that a heading may mean, the likeliest first."""
        found = self._remembered.get(heading)
        if found is None:
            found = self._remembered[heading] = self._meanings(heading)
        return found

    def meanings_of_two(self, whole: str, lower: str) -> tuple[Meant, ...]:
        """The columns that a heading in two rows may mean: by both, or by the lower one alone."""
        best = {each.column: each for each in self.meanings(lower)} if lower else {}
        for each in self.meanings(whole):
            if each.column not in best or best[each.column].score <= each.score:
                best[each.column] = each
        # What both say together goes before what the lower one says alone.
        exact = {each.column for each in self.meanings(whole) if each.score >= EXACT}
        order = sorted(best.values(), key=lambda each: (-each.score, each.column not in exact))
        return tuple(order)

    def _meanings(self, heading: str) -> tuple[Meant, ...]:
        words = heading_text(heading)
        whole = plain(heading)
        best: dict[str, Meant] = {}

        def offer(spelling: str, score: float) -> None:
            for column in self._columns.get(spelling, ()):
                if column not in best or best[column].score < score:
                    best[column] = Meant(column, score, spelling)

        if words in SIZES:
            best[SIZE] = Meant(SIZE, EXACT, words)
        offer(whole, EXACT)
        offer(words, EXACT)
        for spelling, score, _ in (
            process.extract(words, self._long, scorer=fuzz.ratio, score_cutoff=ALIKE, limit=4)
            if len(words) >= SHORTEST_NEAR
            else ()
        ):
            offer(spelling, NEAR * score / 100)
        parts = words.split()
        for start in range(1, len(parts)):
            offer(" ".join(parts[start:]), LAST_WORDS)
        for end in range(1, len(parts)):
            offer(" ".join(parts[:end]), LAST_WORDS - 0.05)
        for part in parts if len(parts) > 1 else ():
            offer(part, ONE_WORD)
        return tuple(sorted(best.values(), key=lambda each: -each.score))


def heading_text(heading: str) -> str:
    """A heading's words without its unit: ``Weight (g/m²)`` → ``weight``."""
    return plain(_UNIT.sub("", heading)) or plain(heading)


def heading_unit(heading: str) -> str:
    """The unit that a heading names, in small letters; empty where it names none."""
    if found := _UNIT.search(heading.strip()):
        return found[1].casefold().strip()
    return ""


@lru_cache(maxsize=16)
def heading_words(own: tuple[Own, ...] = ()) -> HeadingWords:
    """The spellings of a shop's sheet, made once."""
    return HeadingWords(own)


def name_said(meant: Meant) -> str:
    """Why the words of a heading mean a column."""
    if meant.score >= EXACT:
        return "the heading says so"
    if meant.score > LAST_WORDS:
        return f"the heading is close to “{meant.spelling}”"
    return f"the heading has “{meant.spelling}” in it"


SPECIAL_NAMES: Mapping[str, str] = SPECIAL
