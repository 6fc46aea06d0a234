"""Names that are probably the same: other spellings, initials, numbers of machines."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from rapidfuzz import fuzz

from logbook.runs.sheet_matching.plain_words import is_said, plain

ALIKE = 88
SHORTEST_NEAR = 5
LONGEST_INITIALS = 3
_FIRMS = frozenset(("gmbh", "ltd", "limited", "inc", "co", "llc", "kg", "ag", "company", "corp"))
_MACHINE = re.compile(
    r"(?:m|mc|m c|mach|machine|masch|maschine|no|nr|machine no|maschine nr) ?0*(\d+)|0*(\d+)"
)


def names_alike(column: str, counts: Mapping[str, int], known: Sequence[str]) -> Mapping[str, str]:
    """Names of a sheet, by their plain words, and the name that each probably stands for.

    Parameters
    ----------
    column
        The open list that they are of.
    counts
        The names as written and the rows that have each.
    known
        Names in use in the book, most used first.

    Notes
    -----
    Names that differ in capitals and spaces alone are one already, and not told.
    """
    chosen = _by_plain_words(counts, known)
    result: dict[str, str] = {}
    groups: dict[str, str] = {}
    for words, _ in sorted(
        chosen.items(), key=lambda each: _standing(each[1], counts, known), reverse=True
    ):
        key = _key(column, words)
        first = groups.setdefault(key, words)
        if first != words:
            result[words] = chosen[first]
    for words, name in chosen.items():
        if words in result or name in known:
            continue
        others = {w: n for w, n in chosen.items() if w != words and w not in result}
        other = _stands_for(column, words, name, others, counts)
        if other is not None:
            result[words] = other
    return _without_chains(result)


def _by_plain_words(counts: Mapping[str, int], known: Sequence[str]) -> dict[str, str]:
    chosen = {plain(name): name for name in reversed(known)}
    for name in sorted(counts, key=lambda each: -counts[each]):
        if is_said(name) and plain(name):
            chosen.setdefault(plain(name), name)
    return chosen


def _standing(name: str, counts: Mapping[str, int], known: Sequence[str]) -> tuple[bool, bool, int]:
    return (name in known, sum(map(str.isalpha, name)) > 0, counts.get(name, 0))


def _key(column: str, words: str) -> str:
    if column == "machine" and (found := _MACHINE.fullmatch(words)):
        return f"#{found[1] or found[2]}"
    kept = [word for word in words.split() if word not in _FIRMS]
    return " ".join(kept) or words


def _stands_for(
    column: str, words: str, name: str, others: Mapping[str, str], counts: Mapping[str, int]
) -> str | None:
    if column == "operator" and len(words) <= LONGEST_INITIALS and words.isalpha():
        owners = [n for w, n in others.items() if _initials(w) == words and len(w) > len(words)]
        begins = [n for w, n in others.items() if w.startswith(words) and len(w) > len(words)]
        found = owners or begins
        return found[0] if len(found) == 1 else None
    if len(words) < SHORTEST_NEAR or any(map(str.isdigit, words)):
        return None
    near = [
        (w, n)
        for w, n in others.items()
        if fuzz.ratio(words, w) >= ALIKE and not any(map(str.isdigit, w))
    ]
    if len(near) != 1 or counts.get(near[0][1], 1) < counts.get(name, 0):
        return None
    return near[0][1]


def _initials(words: str) -> str:
    return "".join(word[0] for word in words.split())


def _without_chains(result: Mapping[str, str]) -> dict[str, str]:
    ends = {}
    for words, name in result.items():
        seen = {words}
        while plain(name) in result and plain(name) not in seen:
            seen.add(plain(name))
            name = result[plain(name)]
        if plain(name) != words:
            ends[words] = name
    return ends
