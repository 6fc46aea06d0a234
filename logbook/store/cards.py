"""Cards: what a shop keeps beside its runs, version upon version."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

import duckdb

from logbook.errors import CardChanged, CardNotFound
from logbook.store.interface import Card
from logbook.store.opening import now_utc
from logbook.store.requests import CardRequest

KEPT = "kept"
WITHDRAWN = "withdrawn"
_COLUMNS = "drawer, card_ref, version, about, what, why, source, recorded_at, content"


def write_card(cursor: duckdb.DuckDBPyConnection, request: CardRequest) -> int:
    """Add a version of a card within the open transaction; return the version that stands.

    Raises
    ------
    CardNotFound
        A card that is not in its drawer cannot be withdrawn.
    CardChanged
        The version that stands is not the one that the writer has seen.
    """
    newest = _newest(cursor, request.drawer, request.card_ref)
    standing = newest if newest is not None and newest.what == KEPT else None
    if request.content is None and standing is None:
        raise CardNotFound(
            f"There is no card {request.card_ref!r} in the drawer {request.drawer!r}.",
            "look at how the name is written; nothing was changed",
        )
    if request.content is not None and standing is not None:
        about_same = request.about == standing.about
        if about_same and json.loads(_text(request.content)) == standing.content:
            return standing.version
    if request.seen is not None and request.seen != (standing.version if standing else 0):
        raise CardChanged(
            f"{request.card_ref!r} was changed by somebody else since it was read.",
            "look at it again, then repeat the change; nothing was kept of this one",
        )
    content = request.content
    if content is None:
        assert standing is not None
        content = standing.content
    version = 1 if newest is None else newest.version + 1
    about = standing.about if request.content is None and standing else request.about
    cursor.execute(
        f"INSERT INTO cards ({_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        [
            *(request.drawer, request.card_ref, version, about),
            *(KEPT if request.content is not None else WITHDRAWN, request.why, request.source),
            *(now_utc(), _text(content)),
        ],
    )
    return version


def _newest(cursor: duckdb.DuckDBPyConnection, drawer: str, card_ref: str) -> Card | None:
    found = _found(
        cursor,
        f"SELECT {_COLUMNS} FROM cards WHERE drawer = ? AND card_ref = ? "
        "ORDER BY version DESC LIMIT 1",
        [drawer, card_ref],
    )
    return found[0] if found else None


def cards_of(
    cursor: duckdb.DuckDBPyConnection,
    drawer: str,
    *,
    refs: Sequence[str] | None = None,
) -> tuple[Card, ...]:
    """The cards of a drawer that were not withdrawn, in the order in which they were first kept."""
    where, values = "drawer = ?", [drawer]
    if refs is not None:
        where += f" AND card_ref IN ({', '.join('?' for _ in refs) or 'NULL'})"
        values += refs
    found = _found(
        cursor,
        f"SELECT {_COLUMNS} FROM (SELECT *, "
        "max(version) OVER (PARTITION BY card_ref) AS newest, "
        "min(recorded_at) OVER (PARTITION BY card_ref) AS first_kept "
        f"FROM cards WHERE {where}) AS versions "
        "WHERE version = newest ORDER BY first_kept, card_ref",
        values,
    )
    return tuple(card for card in found if card.what == KEPT)


def card_versions(
    cursor: duckdb.DuckDBPyConnection, drawer: str, card_ref: str
) -> tuple[Card, ...]:
    """Every version of a card, oldest first."""
    return _found(
        cursor,
        f"SELECT {_COLUMNS} FROM cards WHERE drawer = ? AND card_ref = ? ORDER BY version",
        [drawer, card_ref],
    )


def _found(cursor: duckdb.DuckDBPyConnection, sql: str, values: list[str]) -> tuple[Card, ...]:
    rows: list[Any] = cursor.execute(sql, values).fetchall()
    return tuple(Card(*(*row[:-1], json.loads(row[-1]))) for row in rows)


def _text(content: object) -> str:
    return json.dumps(content, ensure_ascii=False, allow_nan=False)
