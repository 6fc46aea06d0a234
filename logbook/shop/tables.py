"""The tables of a settings file, read value by value; each message names table and key."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from logbook.errors import SettingsError
from logbook.vocabulary.choices import ChoiceList

PLACE = "shop.toml"


def table_of(settings: Mapping[str, Any], name: str, keys: set[str]) -> Mapping[str, Any]:
    """A table with none but these keys; empty where there is none."""
    table = settings.get(name, {})
    if not isinstance(table, Mapping):
        raise SettingsError(f"{PLACE}: [{name}] must be a table.", f"write [{name}] on a line")
    no_strangers(table, name, keys)
    return table


def rows_of(settings: Mapping[str, Any], name: str) -> Sequence[Mapping[str, Any]]:
    """The entries of a list of tables."""
    rows = settings.get(name, [])
    if not isinstance(rows, list) or not all(isinstance(row, Mapping) for row in rows):
        raise SettingsError(
            f"{PLACE}: {name} must be a list of tables.", f"write [[{name}]] before each entry"
        )
    return rows


def no_strangers(table: Mapping[str, Any], name: str, keys: set[str]) -> None:
    """Refuse keys that are not understood."""
    if unknown := sorted(set(table) - keys):
        raise SettingsError(
            f"{PLACE}: [{name}] has a key {unknown[0]!r} that is not understood.",
            f"keys are: {', '.join(sorted(keys))}",
        )


def text_of(table: Mapping[str, Any], name: str, key: str, default: str | None = None) -> str:
    """A text that must be there, or have a default."""
    value = table.get(key, default)
    if not isinstance(value, str) or not value.strip():
        raise SettingsError(
            f"{PLACE}: [{name}] needs {key} as text, found {value!r}.", f'write {key} = "…"'
        )
    return value.strip()


def amount_of(table: Mapping[str, Any], name: str, key: str) -> float:
    """A number from nought up."""
    value = table.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise SettingsError(
            f"{PLACE}: [{name}] needs {key} as a number, found {value!r}.", f"write {key} = 1.25"
        )
    if value < 0:
        raise SettingsError(f"{PLACE}: [{name}] {key} is {value}; it cannot be below zero.")
    return float(value)


def optional_amount(table: Mapping[str, Any], name: str, key: str) -> float | None:
    """The same where it is there."""
    return None if table.get(key) is None else amount_of(table, name, key)


def optional_choice(
    table: Mapping[str, Any], name: str, key: str, choices: ChoiceList
) -> str | None:
    """The value of a closed list where it is there."""
    if table.get(key) is None:
        return None
    return choice_of(text_of(table, name, key), name, key, choices)


def choice_of(text: str, name: str, key: str, choices: ChoiceList) -> str:
    """The value of a closed list that is meant."""
    value = choices.understand(text)
    if value is None:
        raise SettingsError(
            f"{PLACE}: [[{name}]] {key} is {text!r}, which is not known.",
            f"use one of: {', '.join(choices.values)}",
        )
    return value
