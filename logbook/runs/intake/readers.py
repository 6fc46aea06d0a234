"""Read one cell: what a person or a spreadsheet wrote, as a value or as a reason why not.

These functions say what is understood; whole columns are read fast where the writing is plain
and come here for the rest.
"""

from __future__ import annotations

import math
import re
from datetime import datetime
from zoneinfo import ZoneInfo

from logbook.runs.columns import Column
from logbook.vocabulary.choices import ChoiceList
from logbook.vocabulary.needles import needle_size_nm


class Unreadable(Exception):
    """A cell cannot be read; the text says why, to follow the column's name and the cell.

    Never leaves intake: it becomes the reason of a rejected row.
    """


TRUE_WORDS: frozenset[str] = frozenset({"true", "yes", "y", "t", "1"})
FALSE_WORDS: frozenset[str] = frozenset({"false", "no", "n", "f", "0"})

_SIGN = r"[+-]?"
_WRITINGS = tuple(
    re.compile(pattern)
    for pattern in (
        rf"(?=.*[0-9])({_SIGN}[0-9]*)(?:[.,]([0-9]*))?",
        rf"({_SIGN}[0-9]{{1,3}}(?:,[0-9]{{3}}){{2,}})()",
        rf"({_SIGN}[0-9]{{1,3}}(?:\.[0-9]{{3}}){{2,}})()",
        rf"({_SIGN}[0-9]{{1,3}}(?:,[0-9]{{3}})+)\.([0-9]*)",
        rf"({_SIGN}[0-9]{{1,3}}(?:\.[0-9]{{3}})+),([0-9]*)",
        rf"({_SIGN}[0-9]{{1,3}}(?:[ '’][0-9]{{3}})+)(?:[.,]([0-9]*))?",
    )
)
_GROUP_MARKS = re.compile(r"[,.'’ ]")
ONE_GROUP = rf"^{_SIGN}[1-9][0-9]{{0,2}}[.,][0-9]{{3}}$"
"""One mark and three digits behind it: it may part thousands or decimals."""
_ONE_GROUP = re.compile(ONE_GROUP)
_SCIENTIFIC = re.compile(rf"({_SIGN}(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+))[eE]({_SIGN}[0-9]{{1,3}})")
_DATE = r"(?:[0-9]{4}-[0-9]{2}-[0-9]{2}|[0-9]{8})"
_TIME = r"[0-9]{2}(?::?[0-9]{2}(?::?[0-9]{2}(?:[.,][0-9]{1,9})?)?)?"
_OFFSET = r"[Zz]|[+-][0-9]{2}(?::?[0-9]{2})?"
_MOMENT = re.compile(rf"({_DATE})(?:(?:[Tt]| +)({_TIME}) ?({_OFFSET})?)?")
_DOTTED = re.compile(r"\A([0-9]{1,2})\.([0-9]{1,2})\.([0-9]{4})(?![0-9])")
_BEYOND = 2**63
_MOST_DIGITS = 19


def read_integer(text: str) -> int:
    """Read ``12``, ``12.0``, ``1 234`` or ``1,234,567``; not ``1,234``, which may be 1.234."""
    plain = _plain_signs(text)
    if _ONE_GROUP.match(plain):
        raise Unreadable(_two_readings(plain))
    whole, decimals = _parts(plain, "is not a whole number")
    if decimals.strip("0"):
        raise Unreadable("is not a whole number")
    digits = whole.lstrip("+-0") or "0"
    value = int(digits[: _MOST_DIGITS + 1]) * (-1 if whole.startswith("-") else 1)
    if not -_BEYOND <= value < _BEYOND:
        raise Unreadable("is larger than any count can be")
    return value


def read_number(text: str, column: Column, *, dot_is_decimal: bool) -> float:
    """Read ``12.5``, ``12,5``, ``1 234,5`` or ``1e5``; ``1,234`` only where it is clear.

    Parameters
    ----------
    text
        The cell.
    column
        Its column: where 1234 could not be true, ``1,234`` can only be a decimal.
    dot_is_decimal
        Whether the file parts its cells by commas (or is typed), so that a dot is no thousands
        mark.
    """
    plain = _plain_signs(text)
    if scientific := _SCIENTIFIC.fullmatch(plain):
        value = float(f"{scientific[1].replace(',', '.')}e{scientific[2]}")
    else:
        clear = dot_is_decimal and "." in plain
        if _ONE_GROUP.match(plain) and not clear and may_be_thousands(column):
            raise Unreadable(_two_readings(plain))
        whole, decimals = _parts(plain, "is not a number")
        value = float(f"{whole}.{decimals}")
    if not math.isfinite(value):
        raise Unreadable("is larger than any number can be")
    return value


def may_be_thousands(column: Column) -> bool:
    """Whether a value of a thousand or more could be true of the column."""
    return column.highest is None or column.highest >= 1000


def read_boolean(text: str) -> bool:
    """Read true, yes, y, t, 1 or false, no, n, f, 0 in any case."""
    word = text.casefold()
    if word in TRUE_WORDS:
        return True
    if word in FALSE_WORDS:
        return False
    raise Unreadable("is neither true nor false")


def read_choice(text: str, choices: ChoiceList) -> str:
    """Read a value of a closed list, in any of the trade's spellings."""
    value = choices.understand(text)
    if value is None:
        raise Unreadable(f"is not on the list: {', '.join(choices.values)}")
    return value


def read_needle(text: str) -> int:
    """Read a metric needle size: ``75``, ``75/11``, ``Nm 75``, ``#11``."""
    try:
        # A bare number is metric, as the column says: 11 is not taken for the size beside Nm 75.
        return read_integer(text)
    except Unreadable:
        size = needle_size_nm(text)
        if size is None:
            raise Unreadable("is not a needle size: write the metric one, such as 75") from None
        return size


def read_moment(text: str, zone: ZoneInfo) -> datetime:
    """Read an ISO 8601 date or date-time; one with an offset is brought to the shop's zone.

    Dates with dots are day, month and year. With slashes both orders are in use: never guessed.

    Returns
    -------
    datetime
        Without offset, in the shop's zone.
    """
    plain = _DOTTED.sub(_year_first, text.replace("−", "-"), count=1)
    found = _MOMENT.fullmatch(plain)
    if found is None:
        raise Unreadable(
            "is not a date as 2026-10-31 or 2026-10-31 14:30 (year, month, day), or 31.10.2026"
        )
    date, time, offset = found.groups()
    written = date + (f"T{time}{(offset or '').upper()}" if time else "")
    try:
        moment = datetime.fromisoformat(written)
        return moment if moment.tzinfo is None else moment.astimezone(zone).replace(tzinfo=None)
    except (ValueError, OverflowError):
        raise Unreadable("is no day or time of the calendar") from None


def _year_first(dotted: re.Match[str]) -> str:
    day, month, year = dotted.groups()
    return f"{year}-{month:0>2}-{day:0>2}"


def _plain_signs(text: str) -> str:
    """Every kind of space as a plain one, the true minus as a hyphen."""
    return " ".join(text.split()).replace("−", "-")


def _parts(plain: str, otherwise: str) -> tuple[str, str]:
    for writing in _WRITINGS:
        if found := writing.fullmatch(plain):
            whole = _GROUP_MARKS.sub("", found[1])
            return (whole if whole.strip("+-") else f"{whole}0"), found[2] or ""
    raise Unreadable(otherwise)


def _two_readings(plain: str) -> str:
    decimal = plain.replace(",", ".")
    thousands = _GROUP_MARKS.sub("", plain)
    return f"can be read as {thousands} or as {decimal}: write it without the mark"
