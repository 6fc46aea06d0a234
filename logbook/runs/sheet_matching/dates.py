"""Dates as people write them: each kind taken apart, and the order judged by the whole column."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from itertools import pairwise
from typing import Literal

from logbook.vocabulary.sheet_words import LANGUAGES

Order = Literal["day_first", "month_first", "year_first"]
ORDERS: tuple[Order, ...] = ("day_first", "month_first", "year_first")
EARLIEST = date(1990, 1, 1)
AHEAD = timedelta(days=366)
_SERIALS = (32_874, 73_050)
"""Days since the end of 1899, as spreadsheets count them: 1990 to 2099."""
_SPREADSHEET_EPOCH = date(1899, 12, 30)

_TIME = re.compile(
    r"(?:^|[\sT,]+)(\d{1,2})(?:[:.](\d{2}))?(?:[:.](\d{2})(?:\.\d+)?)?\s*(am|pm|a\.m\.|p\.m\.|uhr|h)?$",
    re.I,
)
_OFFSET = re.compile(r"(?:Z|[+-]\d{2}:?\d{2})$")
_NUMBERS = re.compile(r"(\d{1,4})\s?([./\-\s])\s?(\d{1,2})(?:\s?\2\s?(\d{1,4})|\.?)")
_NAMED = (
    re.compile(
        r"(\d{1,2})(?:st|nd|rd|th)?[.\s\-/]*(?:of\s+)?([^\W\d_]{3,9})\.?[,\s\-/.']*(\d{4}|\d{2})?"
    ),
    re.compile(r"([^\W\d_]{3,9})\.?[\s\-/]*(\d{1,2})(?:st|nd|rd|th)?(?:[,\s\-/']+(\d{4}|\d{2}))?"),
)
_WEEKDAY = re.compile(r"^([^\W\d_]{2,10})\.?,?\s+(?=\d|[^\W\d_]{3})")


@dataclass(frozen=True, slots=True)
class Written:
    """One date taken apart: three numbers in the order written, or a month by its name.

    ``parts`` are year, month and day where ``fixed``; else as written. A year may be wanting.
    """

    parts: tuple[int, ...]
    digits: tuple[int, ...]
    fixed: bool
    time: str = ""
    weekday: int | None = None
    dotted: bool = False

    @property
    def yearless(self) -> bool:
        """Whether no year was written."""
        return len(self.parts) == 2

    def under(self, order: Order, year: int | None = None) -> date | None:
        """The day meant under an order; None where there is no such day."""
        try:
            return self._day(order, year)
        except (ValueError, OverflowError):
            return None

    def _day(self, order: Order, year: int | None) -> date | None:
        if self.yearless:
            if year is None or (order == "year_first" and not self.fixed):
                return None
            month, day = self.parts if self.fixed or order == "month_first" else self.parts[::-1]
            return date(year, month, day)
        if self.fixed:
            return date(_whole(self.parts[0], self.digits[0]), *self.parts[1:])
        if self.digits[2] > 2 and order == "year_first":
            return None
        places = {"day_first": (2, 1, 0), "month_first": (2, 0, 1), "year_first": (0, 1, 2)}[order]
        year_at, month_at, day_at = places
        whole = _whole(self.parts[year_at], self.digits[year_at])
        return date(whole, self.parts[month_at], self.parts[day_at])


def _whole(year: int, digits: int) -> int:
    return year if digits > 2 else 2000 + year


@lru_cache(maxsize=262_144)
def take_apart(text: str) -> Written | None:
    """A cell as a date; None where it is none."""
    plain = " ".join(text.replace("\u2212", "-").split()).strip(" ,;")
    if not plain or not any(map(str.isdigit, plain)):
        return None
    if plain.isdecimal() and len(plain) != 8:
        serial = int(plain)
        if not _SERIALS[0] <= serial < _SERIALS[1]:
            return None
        day = _SPREADSHEET_EPOCH + timedelta(days=serial)
        return Written((day.year, day.month, day.day), (4, 2, 2), fixed=True)
    bare, weekday = _without_weekday(plain)
    day_text, time = _without_time(bare)
    found = _numeric(day_text) or _named(day_text)
    if found is None and time:
        found, time = _numeric(bare) or _named(bare), ""
    if found is None:
        return None
    return Written(found.parts, found.digits, found.fixed, time, weekday, found.dotted)


def _without_weekday(text: str) -> tuple[str, int | None]:
    found = _WEEKDAY.match(text)
    if found is None:
        return text, None
    word = found[1].casefold()
    for language in LANGUAGES:
        for place, name in enumerate(language.weekdays):
            if word.startswith(name) and _month(word) is None:
                return text[found.end() :], place
    return text, None


def _without_time(text: str) -> tuple[str, str]:
    bare = _OFFSET.sub("", text) if "T" in text else text
    found = _TIME.search(bare)
    if found is None or found.start() < 3 or not (found[2] or found[4]):
        return text, ""
    return bare[: found.start()].strip(" ,"), _clock(found)


def read_clock(text: str) -> str | None:
    """A time of day as ``14:30``; None where it is none."""
    plain = text.strip()
    if re.fullmatch(r"\d{3,4}", plain):
        plain = f"{plain[:-2]}:{plain[-2:]}"
    found = _TIME.fullmatch(plain)
    return (_clock(found) or None) if found and (found[2] or found[4]) else None


def _clock(found: re.Match[str]) -> str:
    hour, minute = int(found[1]), int(found[2] or 0)
    half = (found[4] or "").casefold()[:1]
    if half in "ap" and half:
        hour = hour % 12 + (12 if half == "p" else 0)
    second = f":{found[3]}" if found[3] and found[3] != "00" else ""
    return f"{hour:02}:{minute:02}{second}" if hour < 24 and minute < 60 else ""


def _numeric(text: str) -> Written | None:
    if re.fullmatch(r"(19|20)\d{6}", text):
        return Written((int(text[:4]), int(text[4:6]), int(text[6:])), (4, 2, 2), fixed=True)
    found = _NUMBERS.fullmatch(text)
    if found is None:
        return None
    first, mark, second, third = found.groups()
    if third is None:
        # 11.25 or 3-11 may be any two numbers; a day without its year has a slash or ends in a dot.
        if len(first) > 2 or not (mark == "/" or text.endswith(".")):
            return None
        return Written((int(first), int(second)), (len(first), len(second)), fixed=False)
    digits = (len(first), len(second), len(third))
    if (digits[0] > 2 and digits[0] != 4) or digits[2] not in (1, 2, 4) or mark == " ":
        return None
    parts = (int(first), int(second), int(third))
    if digits[0] == 4:
        return Written(parts, digits, fixed=True) if digits[2] < 3 else None
    if digits[2] == 1:
        return None
    return Written(parts, digits, fixed=False, dotted=mark == ".")


def _named(text: str) -> Written | None:
    for place, form in enumerate(_NAMED):
        found = form.fullmatch(text)
        if found is None:
            continue
        word, day = (found[2], found[1]) if place == 0 else (found[1], found[2])
        month = _month(word.casefold())
        if month is None:
            continue
        if found[3] is None:
            return Written((month, int(day)), (2, 2), fixed=True)
        return Written((int(found[3]), month, int(day)), (len(found[3]), 2, 2), fixed=True)
    return None


def _month(word: str) -> int | None:
    for language in LANGUAGES:
        for place, names in enumerate(language.months, start=1):
            if any(word.startswith(name) for name in names.split("|")):
                return place
    return None


@dataclass(frozen=True, slots=True)
class Judged:
    """How the dates of a column are written.

    ``certain`` is false where more than one order fits every date and they mean other days:
    then nothing but an answer of the shop can settle it, and ``order`` is the likelier one.
    ``only`` counts for each order the dates that fit it alone.
    """

    order: Order
    certain: bool
    because: str
    only: Mapping[Order, int]
    example: str = ""
    written: int = 0
    yearless: int = 0


def judge(texts: Sequence[str], *, now: datetime, year: int | None = None) -> Judged:
    """Judge the order of day, month and year by every date of a column.

    Parameters
    ----------
    texts
        The column's cells from top to bottom; what is no date is passed over.
    now
        The present: no run finished more than a year later.
    year
        The year meant where none is written.
    """
    forms = [(text, form) for text in texts if (form := take_apart(text)) is not None]
    loose = [(text, form) for text, form in forms if not form.fixed]
    yearless = sum(form.yearless for _, form in forms)
    nothing: dict[Order, int] = dict.fromkeys(ORDERS, 0)
    if not loose:
        return Judged(
            "year_first",
            True,
            "each date says which number is what",
            nothing,
            written=len(forms),
            yearless=yearless,
        )
    # A day without its year is tried in a leap year, so that the 29th of February is one.
    days = [
        {
            order: _possible(form.under(order, (year or 2024) if form.yearless else None), now)
            for order in ORDERS
        }
        for _, form in loose
    ]
    fitting = [day for day in days if any(day.values())]
    only = {
        order: sum(
            bool(day[order]) and not any(day[o] for o in ORDERS if o != order) for day in fitting
        )
        for order in ORDERS
    }
    whole = [order for order in ORDERS if fitting and all(day[order] for day in fitting)]
    open_ones = [
        (text, form)
        for (text, form), day in zip(loose, days, strict=True)
        if len({each for each in day.values() if each}) > 1
    ]
    example = open_ones[0][0] if open_ones else loose[0][0]
    order, certain, because = _settled(whole, only, loose, days, open_ones)
    return Judged(order, certain, because, only, example, len(forms), yearless)


def _settled(
    whole: Sequence[Order],
    only: Mapping[Order, int],
    loose: Sequence[tuple[str, Written]],
    days: Sequence[Mapping[Order, date | None]],
    open_ones: Sequence[tuple[str, Written]],
) -> tuple[Order, bool, str]:
    if len(whole) == 1:
        [order] = whole
        alone = only[order]
        return (
            order,
            True,
            (
                f"{_dates(alone)} can only be {said(order)}, none only otherwise"
                if alone
                else f"every date is a day of the calendar {said(order)} alone"
            ),
        )
    if not whole:
        best = max(ORDERS, key=lambda order: (only[order], -ORDERS.index(order)))
        parts = [
            f"{_dates(count)} can only be {said(order)}" for order, count in only.items() if count
        ]
        return (
            best,
            not any(only.values()) and not open_ones,
            " and ".join(parts) or "none is a day",
        )
    if not open_ones:
        return whole[0], True, "every order means the same days"
    by_weekday = [order for order in whole if _weekdays_fit(order, loose, days)]
    if len(by_weekday) == 1 and any(form.weekday is not None for _, form in open_ones):
        return by_weekday[0], True, f"the days of the week fit {said(by_weekday[0])} alone"
    ranked = sorted(whole, key=lambda order: (-_in_order(order, days), ORDERS.index(order)))
    return ranked[0], False, f"every date can be {' or '.join(said(order) for order in whole)}"


def _weekdays_fit(
    order: Order, loose: Sequence[tuple[str, Written]], days: Sequence[Mapping[Order, date | None]]
) -> bool:
    told = [
        (form.weekday, day[order])
        for (_, form), day in zip(loose, days, strict=True)
        if form.weekday is not None and not form.yearless
    ]
    return all(day is not None and day.weekday() == weekday for weekday, day in told)


def _possible(day: date | None, now: datetime) -> date | None:
    return day if day is not None and EARLIEST <= day <= now.date() + AHEAD else None


def _in_order(order: Order, days: Sequence[Mapping[Order, date | None]]) -> float:
    """The share of dates that are not before the one above, and close to it."""
    there = [day[order] for day in days if day[order] is not None]
    steps = [(b - a).days for a, b in pairwise(there) if a and b]
    return sum(0 <= step <= 14 for step in steps) / len(steps) if steps else 0.0


def said(order: Order) -> str:
    """An order in words."""
    return order.replace("_", " ")


def _dates(count: int) -> str:
    return "1 date" if count == 1 else f"{count:,} dates"
