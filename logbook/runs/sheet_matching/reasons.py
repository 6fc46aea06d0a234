"""What went wrong, in people's words, as counts: a grammar over the kinds and their spellings.

A finding is a kind with its number beside it: ``puckered x3``, ``2 thread breaks``, ``3 of 24
crooked``. A kind without a number was seen, and how often is not known.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from rapidfuzz import fuzz, process

from logbook.runs.sheet_matching.plain_words import is_said, plain
from logbook.vocabulary.defects import DEFECT_KINDS
from logbook.vocabulary.own_columns import Own, own_defect_kinds
from logbook.vocabulary.sheet_words import LANGUAGES, spellings

ALIKE = 88
SHORTEST_NEAR = 6
LARGEST = 100_000

_SPLIT = re.compile(r"[,;/\n|&]|(?<!\w)\+(?!\d)|\s\+\s|\s[-–—]\s(?!\d)|\.\s")
_TOKEN = re.compile(
    r"\s*(?:(x|×)\s*(\d+)|(\d+)\s*(?:x|×)(?![^\W\d_])|\((\d+)\)|(\d+)|([^\W\d_][\w'’]*)|(\S))"
)

_NUMBERED = frozenset(
    ("head", "heads", "hd", "needle", "ndl", "machine", "mc", "pos", "position", "size", "no", "nr")
) | frozenset(
    ("order", "job", "kopf", "nadel", "maschine", "lot", "roll", "step", "colour", "color")
)
"""Words whose number is a name: head 3."""


@dataclass(frozen=True, slots=True)
class Found:
    """What a cell tells of defects.

    ``counts`` by kind, ``seen`` kinds without a number, ``none`` that nothing was found, and
    ``unknown`` the phrases that are no kind known.
    """

    counts: Mapping[str, int] = field(default_factory=dict)
    seen: tuple[str, ...] = ()
    none: bool = False
    unknown: tuple[str, ...] = ()


class ReasonWords:
    """The grammar's words: a shop's kinds in every language, and what the shop has answered."""

    def __init__(self, own: Sequence[Own] = (), answers: Mapping[str, str] | None = None) -> None:
        words: dict[str, str] = {}
        for language in LANGUAGES:
            for name, text in language.kinds.items():
                for spelling in spellings(text):
                    words.setdefault(plain(spelling), name)
        for kind in (*DEFECT_KINDS, *own_defect_kinds(own)):
            words.setdefault(plain(kind.label), kind.name)
            words.setdefault(plain(kind.name), kind.name)
        for spelling, name in (answers or {}).items():
            words[plain(spelling)] = name
        self.kinds = words
        self._long = [each for each in words if len(each) >= SHORTEST_NEAR]
        self._most_words = max(len(each.split()) for each in words)
        self._numbers = {plain(word): n for each in LANGUAGES for word, n in each.numbers.items()}
        self._none = _together("none_found")
        self._seen = _together("seen")
        self._fillers = _together("fillers")
        self._no = frozenset(("no", "kein", "keine", "0", "without", "ohne"))
        self._joins = re.compile(
            r"\s(?:"
            + "|".join(word for each in LANGUAGES for word in spellings(each.joins))
            + r")\s"
        )

    def read(self, text: str) -> Found:
        """Read a cell."""
        if not is_said(text):
            return Found()
        if plain(text) in self._none:
            return Found(none=True)
        counts: dict[str, int] = {}
        seen: list[str] = []
        unknown: list[str] = []
        none = False
        for part in self._parts(text):
            if plain(part) in self._none:
                none = True
                continue
            findings = self._part(part)
            if not findings and (phrase := self._phrase(part)):
                unknown.append(phrase)
            for kind, count in findings:
                if kind == "":
                    continue
                if count is None:
                    seen.append(kind)
                else:
                    counts[kind] = counts.get(kind, 0) + count
        uncounted = tuple(dict.fromkeys(kind for kind in seen))
        # A kind once with a number and once without: how often in all is not known.
        told = {kind: count for kind, count in counts.items() if kind not in uncounted}
        return Found(
            told, uncounted, none and not told and not uncounted, tuple(dict.fromkeys(unknown))
        )

    def _parts(self, text: str) -> list[str]:
        plain_space = " ".join(text.replace("’", "'").split(" "))
        pieces = [
            piece for part in _SPLIT.split(plain_space) for piece in self._joins.split(f" {part} ")
        ]
        return [piece.strip() for piece in pieces if piece.strip(" .:-")]

    def _part(self, part: str) -> list[tuple[str, int | None]]:
        tokens = self._tokens(part)
        found: list[tuple[str, int | None]] = []
        used: set[int] = set()
        if _numbers_follow(tokens):
            pairs = zip(tokens[::2], tokens[1::2], strict=True)
            return [(str(kind), _count(number)) for (_, kind), (_, number) in pairs]
        for place, (sort, value) in enumerate(tokens):
            if sort != "kind":
                continue
            if any(word in self._no for word in self._before(tokens, place)):
                found.append((str(value), 0))
                continue
            number = self._number_of(tokens, place, used)
            found.append((str(value), number))
        return found

    @staticmethod
    def _before(tokens: list[tuple[str, str | int]], place: int) -> list[str]:
        return [str(value) for sort, value in tokens[max(0, place - 1) : place] if sort == "word"]

    def _number_of(
        self, tokens: list[tuple[str, str | int]], place: int, used: set[int]
    ) -> int | None:
        """The number beside a kind: times behind it, a number before it, one behind it."""
        after = place + 1
        if after < len(tokens) and tokens[after][0] == "times" and after not in used:
            return self._use(tokens, after, used)
        before = place - 1
        while before >= 0 and tokens[before][0] == "word" and tokens[before][1] not in self._seen:
            before -= 1
        if before >= 0 and tokens[before][0] in ("number", "times") and before not in used:
            # 3 of 24 crooked: the first of the two is the count.
            if tokens[before - 1 : before] == [("of", "of")] and before >= 2:
                used.add(before)
                before -= 2
            elif before and tokens[before - 1][0] == "number":
                return None
            return self._use(tokens, before, used)
        follows = after < len(tokens) and tokens[after][0] == "number" and after not in used
        if follows and not any(sort == "kind" for sort, _ in tokens[after + 1 :]):
            return self._use(tokens, after, used)
        return None

    @staticmethod
    def _use(tokens: list[tuple[str, str | int]], place: int, used: set[int]) -> int | None:
        used.add(place)
        return _count(tokens[place][1])

    def _tokens(self, part: str) -> list[tuple[str, str | int]]:
        raw: list[tuple[str, str | int]] = []
        for found in _TOKEN.finditer(part):
            _, times, times_before, in_brackets, number, word, other = found.groups()
            if times or times_before or in_brackets:
                raw.append(("times", int(times or times_before or in_brackets)))
            elif number:
                if not (raw and raw[-1][1] in _NUMBERED):
                    raw.append(("number", int(number)))
            elif word:
                raw += [("word", each) for each in plain(word).split()]
            elif other in ":=#%":
                continue
        return self._with_kinds(raw)

    def _with_kinds(self, raw: list[tuple[str, str | int]]) -> list[tuple[str, str | int]]:
        tokens: list[tuple[str, str | int]] = []
        place = 0
        while place < len(raw):
            sort, value = raw[place]
            if sort != "word":
                tokens.append((sort, value))
                place += 1
                continue
            kind, length = self._kind_at(raw, place)
            if kind is not None:
                tokens.append(("kind", kind))
            elif value in ("of", "von"):
                tokens.append(("of", "of"))
            elif value in self._numbers and self._kind_follows(raw, place):
                tokens.append(("number", self._numbers[str(value)]))
            elif value not in self._fillers:
                tokens.append(("word", value))
            place += length
        return tokens

    def _kind_follows(self, raw: list[tuple[str, str | int]], place: int) -> bool:
        return any(
            self._kind_at(raw, later)[0] is not None
            for later in range(place + 1, min(place + 4, len(raw)))
        )

    def _kind_at(self, raw: list[tuple[str, str | int]], place: int) -> tuple[str | None, int]:
        for length in range(min(self._most_words, len(raw) - place), 0, -1):
            span = raw[place : place + length]
            if any(sort != "word" for sort, _ in span):
                continue
            words = " ".join(str(value) for _, value in span)
            if words in self.kinds:
                return self.kinds[words], length
        return self._near_kind(str(raw[place][1])), 1

    @lru_cache(maxsize=8192)  # noqa: B019 - a few of these objects live for as long as a sheet is read
    def _near_kind(self, word: str) -> str | None:
        if len(word) < SHORTEST_NEAR:
            return None
        near = process.extractOne(word, self._long, scorer=fuzz.ratio, score_cutoff=ALIKE)
        return self.kinds[near[0]] if near else None

    def _phrase(self, part: str) -> str:
        """What a part says, without its numbers."""
        words = [str(value) for sort, value in self._tokens(part) if sort in ("word", "of")]
        return " ".join(words)


def _numbers_follow(tokens: Sequence[tuple[str, str | int]]) -> bool:
    """Whether every kind has its number behind it: ``pucker 3 gaps 2``."""
    sorts = [sort for sort, _ in tokens]
    pairs = len(sorts) // 2
    return pairs > 0 and sorts in (["kind", "number"] * pairs, ["kind", "times"] * pairs)


def _count(value: str | int) -> int | None:
    return int(value) if int(value) <= LARGEST else None


def _together(name: str) -> frozenset[str]:
    return frozenset(plain(word) for each in LANGUAGES for word in spellings(getattr(each, name)))
