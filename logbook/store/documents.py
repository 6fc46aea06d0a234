"""Documents: what a shop keeps beside its runs, version upon version.

In the tables a collection is a ``drawer`` and a key a ``card_ref``, as in the first books.
"""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Sequence
from typing import Any

import duckdb

from logbook.errors import DocumentChanged, DocumentNotFound
from logbook.store.interface import Document
from logbook.store.opening import now_utc
from logbook.store.requests import DocumentRequest

KEPT = "kept"
WITHDRAWN = "withdrawn"
_COLUMNS = "drawer, card_ref, version, about, what, why, source, recorded_at, content"


class DocumentCache:
    """The standing documents of each collection; right as long as every change is told here.

    Every run that is logged asks for the shop's designs; a collection changes some times a week.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self.changes = 0
        """Grows with every change of a document."""
        self._standing: dict[str, tuple[Document, ...]] = {}

    def of(self, collection: str, read: Callable[[], tuple[Document, ...]]) -> tuple[Document, ...]:
        """The documents of a collection; ``read`` looks them up where they are not known."""
        with self._lock:
            known = self._standing.get(collection)
            changes = self.changes
        if known is not None:
            return known
        found = read()
        with self._lock:
            # What was read while a change was under way may be of before it.
            if changes == self.changes:
                self._standing[collection] = found
        return found

    def changed(self, collection: str) -> None:
        """Look it up anew: a document of it was put or withdrawn, and that is committed."""
        with self._lock:
            self.changes += 1
            self._standing.pop(collection, None)


def write_document(cursor: duckdb.DuckDBPyConnection, request: DocumentRequest) -> int:
    """Add a version of a document within the open transaction; return the version that stands.

    Raises
    ------
    DocumentNotFound
        A document that is not in its collection cannot be withdrawn.
    DocumentChanged
        The version that stands is not the one that the writer has seen.
    """
    newest = _newest(cursor, request.collection, request.key)
    standing = newest if newest is not None and newest.what == KEPT else None
    if request.content is None and standing is None:
        raise DocumentNotFound(
            f"There is no {request.key!r} among the {request.collection}.",
            "look at how the name is written; nothing was changed",
        )
    if standing is not None and _says(request, standing):
        return standing.version
    if request.seen is not None and request.seen != (standing.version if standing else 0):
        raise DocumentChanged(
            f"{request.key!r} was changed by somebody else since it was read.",
            "look at it again, then repeat the change; nothing was kept of this one",
        )
    version = 1 if newest is None else newest.version + 1
    if request.content is not None:
        what, about, content = KEPT, request.about, request.content
    else:
        assert standing is not None
        what, about, content = WITHDRAWN, standing.about, standing.content
    cursor.execute(
        f"INSERT INTO cards ({_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        [
            *(request.collection, request.key, version, about, what, request.why, request.source),
            *(now_utc(), _text(content)),
        ],
    )
    return version


def _newest(cursor: duckdb.DuckDBPyConnection, collection: str, key: str) -> Document | None:
    where = "WHERE drawer = ? AND card_ref = ? ORDER BY version DESC LIMIT 1"
    found = _found(cursor, f"SELECT {_COLUMNS} FROM cards {where}", [collection, key])
    return found[0] if found else None


def _says(request: DocumentRequest, standing: Document) -> bool:
    if request.content is None or request.about != standing.about:
        return False
    return bool(json.loads(_text(request.content)) == standing.content)


def standing_documents(
    cursor: duckdb.DuckDBPyConnection, collection: str, *, keys: Sequence[str] | None = None
) -> tuple[Document, ...]:
    """The documents of a collection that were not withdrawn, the first kept first."""
    where, values = "drawer = ?", [collection]
    if keys is not None:
        where += f" AND card_ref IN ({', '.join('?' for _ in keys) or 'NULL'})"
        values += keys
    found = _found(
        cursor,
        f"SELECT {_COLUMNS} FROM (SELECT *, "
        "max(version) OVER (PARTITION BY card_ref) AS newest, "
        "min(recorded_at) OVER (PARTITION BY card_ref) AS first_kept "
        f"FROM cards WHERE {where}) AS versions "
        "WHERE version = newest ORDER BY first_kept, card_ref",
        values,
    )
    return tuple(document for document in found if document.what == KEPT)


def document_versions(
    cursor: duckdb.DuckDBPyConnection, collection: str, key: str
) -> tuple[Document, ...]:
    """Every version of a document, oldest first."""
    where = "WHERE drawer = ? AND card_ref = ? ORDER BY version"
    return _found(cursor, f"SELECT {_COLUMNS} FROM cards {where}", [collection, key])


def _found(cursor: duckdb.DuckDBPyConnection, sql: str, values: list[str]) -> tuple[Document, ...]:
    rows: list[Any] = cursor.execute(sql, values).fetchall()
    return tuple(Document(*(*row[:-1], json.loads(row[-1]))) for row in rows)


def _text(content: object) -> str:
    return json.dumps(content, ensure_ascii=False, allow_nan=False)
