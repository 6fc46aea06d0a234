"""Numbers, weights and times as people write them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Literal

from logbook.runs.columns import Column
from logbook.runs.sheet_matching.plain_words import plain
from logbook.vocabulary.sheet_words import LANGUAGES, spellings

Mark = Literal[",", "."]
"""What parts the decimals of a column."""

_SHAPE = re.compile(
    r"(?P<sign>[+-]?)(?P<whole>\d{1,3}(?:(?P<group>[,.'’ ])\d{3})(?:(?P=group)\d{3})*|\d*)"
    r"(?:(?P<mark>[.,])(?P<decimals>\d*))?\s*(?P<thousand>k|tsd\.?)?\s*(?P<unit>[^\d\s][^\d]*)?",
    re.I,
)
_UNITS = frozenset(
    spellings(
        "pcs, pc, pieces, piece, pce, stk, stück, stueck, teile, st, sts, stitches, stiche, spm, "
        "rpm, stitches min, st min, stiche min, u min, heads, head, hds, kopf, köpfe, layers, "
        "layer, ply, lagen, lage, mm, mm2, units, ea, each, x, shirts, caps, polos, min, nm, sheets"
    )
)
LONGEST_DECIMALS = 9


def decimal_mark(texts: Iterable[str]) -> Mark | None:
    """What parts decimals in a column; None where no cell shows it."""
    seen: set[Mark] = set()
    for text in texts:
        for mark in re.findall(r"\d([.,])(?:\d{1,2}|\d{4,})(?!\d)", text):
            seen.add(mark)
    return seen.pop() if len(seen) == 1 else None


def read_number(text: str, column: Column, mark: Mark | None = None) -> float | None:
    """A cell as a number; None where it is none, or could be two.

    Parameters
    ----------
    text
        ``24``, ``7,450``, ``7.450``, ``8,5k``, ``24 pcs``, ``850 spm``.
    column
        Its column: a whole number has no decimals, and its limits tell 7,450 from 7.45.
    mark
        What parts decimals in the column, where other cells show it.
    """
    found = _SHAPE.fullmatch(" ".join(text.replace("−", "-").split()))
    if found is None or not (found["whole"] or found["decimals"]):
        return None
    if found["unit"] and plain(found["unit"]) not in _UNITS:
        return None
    whole, group = found["whole"] or "0", found["group"]
    decimals = found["decimals"] or ""
    if len(decimals) > LONGEST_DECIMALS or len(whole) > 18:
        return None
    if (
        group in (",", ".")
        and whole.count(group) == 1
        and not found["mark"]
        and not found["thousand"]
    ):
        return _one_group(whole, group, found["sign"], column, mark)
    if group and group == found["mark"]:
        return None
    if found["mark"] and len(decimals) == 3 and whole != "0" and found["thousand"]:
        return None
    digits = re.sub(r"\D", "", whole)
    value = float(f"{found['sign']}{digits}.{decimals or 0}")
    return round(value * (1000 if found["thousand"] else 1), LONGEST_DECIMALS)


def _one_group(
    whole: str, group: str, sign: str, column: Column, mark: Mark | None
) -> float | None:
    thousands = float(sign + whole.replace(group, ""))
    if column.type == "integer":
        return None if whole.startswith("0") else thousands
    decimal = float(sign + whole.replace(group, "."))
    if whole.startswith("0"):
        return decimal
    if mark is not None:
        return decimal if mark == group else thousands
    possible = [value for value in (thousands, decimal) if within(value, column)]
    return possible[0] if len(possible) == 1 else None


def within(value: float, column: Column) -> bool:
    """Whether a value can be true of a column."""
    return (
        (column.lowest is None or value >= column.lowest)
        and (column.above is None or value > column.above)
        and (column.highest is None or value <= column.highest)
    )


def number_text(value: float, column: Column) -> str | None:
    """A number as the run sheet has it; None where a whole one has decimals."""
    if float(value).is_integer():
        return str(int(value))
    return None if column.type == "integer" else repr(value)


_HOURS = frozenset(word for each in LANGUAGES for word in spellings(each.hours))
_MINUTES = frozenset(word for each in LANGUAGES for word in spellings(each.minutes))
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::\d{2})?")
_NUMBER = r"\d+(?:[.,]\d+)?"
_SPAN = re.compile(
    rf"(?:({_NUMBER})\s*([^\W\d_]+)\.?)?(?:\s*(?:and|und|,)?\s*({_NUMBER})\s*([^\W\d_]*)\.?)?", re.I
)


def read_minutes(text: str, *, unit: Literal["hours", "minutes"] = "minutes") -> float | None:
    """A span of time in minutes: ``70``, ``1h10``, ``1:10``, ``1.5 h``, ``1 Std 10 Min``.

    ``unit`` is what a number without one is in.
    """
    plain_text = " ".join(text.casefold().split()).strip("'′ ")
    if clock := _CLOCK.fullmatch(plain_text):
        return int(clock[1]) * 60.0 + int(clock[2])
    found = _SPAN.fullmatch(plain_text)
    if found is None or not (found[1] or found[3]):
        return None
    total = 0.0
    if found[1]:
        per = _per(found[2])
        if per is None:
            return None
        total += _float(found[1]) * per
    if found[3]:
        word = found[4]
        per = _per(word) if word else (1.0 if found[1] or unit == "minutes" else 60.0)
        if per is None or (found[1] and (_per(found[2]) != 60 or per != 1)):
            return None
        total += _float(found[3]) * per
    return round(total, 3)


def _per(word: str) -> float | None:
    return 60.0 if word in _HOURS else 1.0 if word in _MINUTES else None


def _float(text: str) -> float:
    return float(text.replace(",", "."))


_OUNCES = re.compile(
    r"(?<![\w.,])(\d+(?:[.,]\d+)?)\s*(?:-|\s)?(?:oz|ounces?|unzen?)\b\.?(?:\s*/?\s*yd[²2]?)?", re.I
)
_GRAMS = re.compile(
    r"(?<![\w.,])(\d+(?:[.,]\d+)?)\s*-?(?:g\s?/\s?(?:m²|m2|qm|sqm)|gsm|gr|gm|g)(?![^\W\d_])\.?",
    re.I,
)
LIGHTEST_GSM, HEAVIEST_OZ = 15.0, 9.0


def take_weight(text: str) -> tuple[dict[str, str], str]:
    """The weight in a cell, in its unit, and what else the cell says."""
    for form, name in ((_OUNCES, "backing_oz_yd2"), (_GRAMS, "backing_gsm")):
        if found := form.search(text):
            value = _float(found[1])
            rest = f"{text[: found.start()]} {text[found.end() :]}"
            return {name: f"{value:g}"}, " ".join(rest.split())
    return {}, text


def bare_weight(value: float, *, ounces: bool | None) -> dict[str, str]:
    """A weight without a unit: no backing weighs 2.5 g/m², none 60 oz/yd²."""
    if ounces is None:
        ounces = True if value <= HEAVIEST_OZ else False if value >= LIGHTEST_GSM else None
    if ounces is None:
        return {}
    return {"backing_oz_yd2" if ounces else "backing_gsm": f"{value:g}"}
