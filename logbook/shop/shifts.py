"""The shifts of a shop, and which of them a finish lies in."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from logbook.errors import SettingsError
from logbook.shop.tables import PLACE, no_strangers, rows_of, text_of

_TIME = re.compile(r"([01]\d|2[0-3]):[0-5]\d")


@dataclass(frozen=True, slots=True)
class Shift:
    """A name, and from when to when it lasts, as ``HH:MM``; it may go past midnight.

    A run that finishes on the dot was sewn in the shift that ends there.
    """

    name: str
    begins: str
    ends: str


def shifts_from(settings: Mapping[str, Any]) -> tuple[Shift, ...]:
    """Read the list of tables ``shift``: ``name``, ``from`` and ``to``.

    Raises
    ------
    SettingsError
        A shift has no name, one of its times cannot be, or two have one name.
    """
    shifts = tuple(_shift(row) for row in rows_of(settings, "shift"))
    names = [each.name.casefold() for each in shifts]
    if len(set(names)) < len(names):
        raise SettingsError(f"{PLACE}: two [[shift]] have the same name.", "name each its own")
    return shifts


def _shift(row: Mapping[str, Any]) -> Shift:
    no_strangers(row, "shift", {"name", "from", "to"})
    times = [text_of(row, "shift", key) for key in ("from", "to")]
    for time in times:
        if not _TIME.fullmatch(time):
            raise SettingsError(
                f"{PLACE}: [[shift]] has the time {time!r}.", 'write hours and minutes: "06:00"'
            )
    if times[0] == times[1]:
        raise SettingsError(f"{PLACE}: [[shift]] begins and ends at {times[0]}.")
    return Shift(text_of(row, "shift", "name"), *times)
