"""The columns that a shop adds to its run sheet, and those that its form asks for."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from logbook.errors import SettingsError
from logbook.shop.tables import PLACE, no_strangers, table_of, text_of
from logbook.vocabulary.defects import DEFECT_KINDS
from logbook.vocabulary.own_columns import OwnColumn

OWN_NAME = re.compile(r"[a-z][a-z0-9_]{1,39}")
"""What a shop may name a defect kind or column of its own."""
MOST_CHOICES = 200


def own_columns(settings: Mapping[str, Any], *, taken: Sequence[str]) -> tuple[OwnColumn, ...]:
    """Read ``columns``: a table with a line a column, or a list of tables.

    ``wash = "Wash batch"`` is a text with that label; ``{ label = …, choices = [ … ] }`` a list to
    choose from.

    Parameters
    ----------
    settings
        The parsed file.
    taken
        Names of the shop's own defect kinds.

    Raises
    ------
    SettingsError
        A name is taken or not plain, a key is not understood, or the choices are no list of texts.
    """
    used = {kind.name for kind in DEFECT_KINDS} | {"any", *taken}
    columns = []
    for name, row in _named(settings.get("columns", {})):
        if not OWN_NAME.fullmatch(name) or name in used:
            raise SettingsError(
                f"{PLACE}: [columns] name {name!r} is taken or not plain.",
                "use a new name of small letters, digits and underscores, such as wash_batch",
            )
        used.add(name)
        columns.append(_column(name, row))
    return tuple(columns)


def asked_columns(settings: Mapping[str, Any]) -> tuple[str, ...]:
    """Read ``ask`` of the table ``form``: columns that it asks for though no run has them yet.

    Raises
    ------
    SettingsError
        It is no list of names.
    """
    names = table_of(settings, "form", {"ask"}).get("ask", [])
    if not _texts(names):
        raise SettingsError(
            f"{PLACE}: [form] ask must be a list of columns.", 'write ask = ["customer"]'
        )
    return tuple(names)


def _named(table: Any) -> list[tuple[str, Mapping[str, Any]]]:
    if isinstance(table, Mapping):
        labelled = {
            name: {"label": row} if isinstance(row, str) else row for name, row in table.items()
        }
        rows = list(labelled.items())
    elif isinstance(table, list) and all(isinstance(row, Mapping) for row in table):
        rows = [
            (text_of(row, "columns", "name"), {k: v for k, v in row.items() if k != "name"})
            for row in table
        ]
    else:
        rows = [("", None)]
    if not all(isinstance(row, Mapping) for _, row in rows):
        raise SettingsError(
            f"{PLACE}: [columns] must hold a column a line.", 'write wash_batch = "Wash batch"'
        )
    return rows


def _column(name: str, row: Mapping[str, Any]) -> OwnColumn:
    no_strangers(row, "columns", {"label", "choices"})
    choices = row.get("choices", [])
    plain = [each.strip() for each in choices] if _texts(choices) else []
    if not _texts(choices) or len(set(plain)) < len(plain):
        raise SettingsError(
            f"{PLACE}: [columns] {name}: choices must be a list of different texts.",
            'write choices = ["red", "blue"], or leave it out for a text',
        )
    if len(plain) > MOST_CHOICES:
        raise SettingsError(f"{PLACE}: [columns] {name} has more than {MOST_CHOICES} choices.")
    label = text_of(row, "columns", "label", name.replace("_", " ").capitalize())
    return OwnColumn(name, label, tuple(plain))


def _texts(value: Any) -> bool:
    return isinstance(value, list) and all(
        isinstance(each, str) and bool(each.strip()) for each in value
    )
