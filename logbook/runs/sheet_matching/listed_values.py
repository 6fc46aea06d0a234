"""Values of closed lists, yes and no, and the several facts that people write in one cell."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache

from rapidfuzz import fuzz, process

from logbook.runs.columns import COLUMNS
from logbook.runs.sheet_matching.amounts import bare_weight, take_weight
from logbook.runs.sheet_matching.plain_words import plain
from logbook.vocabulary.backings import BACKING_SHADES, BACKINGS
from logbook.vocabulary.choices import ChoiceList
from logbook.vocabulary.needles import NEEDLE_POINTS, needle_size_nm
from logbook.vocabulary.sheet_words import LANGUAGES, spellings

ALIKE = 88
SHORTEST_INSIDE = 3
_YES = frozenset(plain(word) for each in LANGUAGES for word in spellings(each.yes))
_NO = frozenset(plain(word) for each in LANGUAGES for word in spellings(each.no))
USUAL_WORDS = frozenset(plain(word) for each in LANGUAGES for word in spellings(each.usual))


def read_yes_no(text: str) -> bool | None:
    """Yes or no in any of its spellings."""
    word = plain(text)
    return True if word in _YES else False if word in _NO else None


def is_usual(text: str) -> bool:
    """Whether a cell says that it was as always."""
    return plain(text) in USUAL_WORDS


@lru_cache(maxsize=64)
def words_of(choices: ChoiceList) -> Mapping[str, str]:
    """Every spelling of a closed list and the value that it means."""
    words = {plain(spelling): value for spelling, value in choices.synonyms.items()}
    for language in LANGUAGES:
        for value in choices.values:
            for spelling in spellings(language.choices.get(f"{choices.column}.{value}", "")):
                words.setdefault(plain(spelling), value)
    for choice in choices.choices:
        words[plain(choice.value)] = words[plain(choice.label)] = choice.value
    return words


def read_choice(text: str, choices: ChoiceList) -> str | None:
    """A value of a closed list: by a spelling, one within the words, or one close to it."""
    word, words = plain(text), words_of(choices)
    if word in words:
        return words[word]
    inside = longest_inside(word, words)
    if inside is not None:
        return words[inside]
    near = process.extractOne(
        word,
        [each for each in words if len(each) > SHORTEST_INSIDE + 1],
        scorer=fuzz.ratio,
        score_cutoff=ALIKE,
    )
    return words[near[0]] if near else None


def longest_inside(word: str, words: Mapping[str, str]) -> str | None:
    """The longest spelling that stands in a text as whole words."""
    padded = f" {word} "
    found = [each for each in words if len(each) >= SHORTEST_INSIDE and f" {each} " in padded]
    return max(found, key=len) if found else None


_LAYERS = re.compile(
    r"(?:\bx\s?([1-6])\b|\b([1-6])\s?x(?![^\W\d_])|\b([1-6])[\s-]*(?:layers?|ply|plies|sheets?|lagen|lage|lagig|"
    r"pcs|stk|mal)\b|×\s?([1-6])|([1-6])\s?×)",
    re.I,
)
_LAYER_WORDS = {
    "double": 2,
    "dbl": 2,
    "doppelt": 2,
    "single": 1,
    "einfach": 1,
    "triple": 3,
    "zweilagig": 2,
}
_SAYS_NOTHING = frozenset(
    [
        "backing",
        "stabilizer",
        "stabiliser",
        "stab",
        "vlies",
        "of",
        "the",
        "weight",
        "g",
        "oz",
        "lagen",
        "layer",
        "layers",
        "wt",
        "and",
        "mit",
        "sheet",
        "sheets",
        "medium",
        "heavy",
        "light",
    ]
)


def read_backing(text: str, suppliers: Mapping[str, str]) -> tuple[dict[str, str], str]:
    """The facts of a backing in one cell, and the words that say none.

    ``2.5oz cutaway x2 white`` is a type, a weight, layers and a shade. ``suppliers`` are known
    names by their plain words.
    """
    facts, rest = take_weight(text)
    if found := _LAYERS.search(rest):
        facts["backing_layers"] = next(group for group in found.groups() if group)
        rest = f"{rest[: found.start()]} {rest[found.end() :]}"
    words = plain(rest)
    for name, choices in (("backing", BACKINGS), ("backing_shade", BACKING_SHADES)):
        words = _take_choice(words, name, choices, facts)
    if supplier := longest_inside(words, suppliers):
        facts["backing_supplier"] = suppliers[supplier]
        words = _without(words, supplier)
    left = []
    for word in words.split():
        if word in _LAYER_WORDS and "backing_layers" not in facts:
            facts["backing_layers"] = str(_LAYER_WORDS[word])
        elif word not in _SAYS_NOTHING:
            left.append(word)
    if facts.get("backing") == "none":
        facts.pop("backing_layers", None)
    return facts, " ".join(left)


def _take_choice(words: str, name: str, choices: ChoiceList, facts: dict[str, str]) -> str:
    known = words_of(choices)
    padded = f" {words} "
    inside = [each for each in known if f" {each} " in padded]
    if inside:
        longest = max(inside, key=len)
        facts[name] = known[longest]
        return _without(words, longest)
    if name == "backing":
        long = [each for each in known if len(each) > SHORTEST_INSIDE + 1]
        for word in (words, *words.split()):
            near = process.extractOne(word, long, scorer=fuzz.ratio, score_cutoff=ALIKE)
            if near:
                facts[name] = known[near[0]]
                return _without(words, word)
    return words


def _without(words: str, taken: str) -> str:
    return " ".join(f" {words} ".replace(f" {taken} ", " ", 1).split())


def read_weight(text: str, *, ounces: bool | None) -> dict[str, str] | None:
    """A weight with or without its unit; None where the cell is something else."""
    facts, rest = take_weight(text)
    if facts:
        return facts if not plain(rest) else None
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        return None
    return bare_weight(value, ounces=ounces) or None


_FIRST_SIZE = re.compile(r"(?:nm|size|#|no\.?)?\s*(\d{1,3}(?:\s?/\s?\d{1,3})?)\s*(.*)", re.I)

_LAST_SIZE = re.compile(r"([^\d]+?)\s*(\d{2,3}(?:\s?/\s?\d{1,3})?)")


def read_needle(text: str) -> dict[str, str] | None:
    """A needle's size and point: ``75/11``, ``#11``, ``75/11 BP``."""
    size = needle_size_nm(text)
    found = _FIRST_SIZE.fullmatch(text.strip())
    point = read_choice(found[2], NEEDLE_POINTS) if found and found[2] else None
    if size is None and found:
        size = needle_size_nm(found[1].replace(" ", "")) if point else None
    if size is None and (behind := _LAST_SIZE.fullmatch(text.strip())):
        point = read_choice(behind[1], NEEDLE_POINTS)
        size = needle_size_nm(behind[2].replace(" ", "")) if point else None
    if size is None:
        only_point = None if found else read_choice(text, NEEDLE_POINTS)
        return {"needle_point": only_point} if only_point else None
    return {"needle_nm": str(size)} | ({"needle_point": point} if point else {})


CHOICES: Mapping[str, ChoiceList] = {
    column.name: column.choices for column in COLUMNS if column.choices is not None
}
