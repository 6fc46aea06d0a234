"""What a backup says of itself: whose it is, when it was made, and what it holds."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from logbook.errors import BookNewer

MANIFEST = "manifest.json"
FORMAT = "logbook backup"
FORMAT_VERSION = 1


@dataclass(frozen=True, slots=True)
class Member:
    """One file within an archive."""

    name: str
    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class About:
    """Where a backup comes from.

    ``book_mark`` is the same for every backup of a book, and of a book restored from one.
    ``made_at`` carries its zone. ``tables`` holds the rows by table.
    """

    book_mark: str
    book_name: str
    made_at: datetime
    logbook_version: str
    schema_version: int
    tables: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Manifest:
    """All that an archive says of itself."""

    about: About
    members: tuple[Member, ...]


def manifest_text(manifest: Manifest) -> str:
    """The manifest as the archive holds it."""
    about = manifest.about
    return json.dumps(
        {
            "format": FORMAT,
            "format_version": FORMAT_VERSION,
            "book": {"mark": about.book_mark, "name": about.book_name},
            "made_at": about.made_at.isoformat(),
            "logbook_version": about.logbook_version,
            "schema_version": about.schema_version,
            "tables": dict(about.tables),
            "members": [
                {"name": member.name, "bytes": member.bytes, "sha256": member.sha256}
                for member in manifest.members
            ],
        },
        ensure_ascii=False,
        indent=1,
    )


def manifest_from(said: Any) -> Manifest:
    """Read a manifest.

    Raises
    ------
    ValueError
        It is not a manifest.
    BookNewer
        It is of a later kind than this version knows.
    """
    if not isinstance(said, Mapping) or said.get("format") != FORMAT:
        raise ValueError("its list of members is not that of a backup")
    kind = _whole(said, "format_version")
    if kind > FORMAT_VERSION:
        raise BookNewer(
            f"The backup is of a newer kind ({kind}; this version knows {FORMAT_VERSION}).",
            "update this program, then try again",
        )
    book = said.get("book")
    tables, members = said.get("tables"), said.get("members")
    if not (
        isinstance(book, Mapping) and isinstance(tables, Mapping) and isinstance(members, list)
    ):
        raise ValueError("its list of members is not complete")
    made_at = datetime.fromisoformat(_text(said, "made_at"))
    if made_at.tzinfo is None:
        raise ValueError("it does not say in which zone it was made")
    return Manifest(
        About(
            book_mark=_text(book, "mark"),
            book_name=_text(book, "name"),
            made_at=made_at,
            logbook_version=_text(said, "logbook_version"),
            schema_version=_whole(said, "schema_version"),
            tables={str(name): _whole(tables, name) for name in tables},
        ),
        tuple(_member(each) for each in members),
    )


def _member(said: Any) -> Member:
    if not isinstance(said, Mapping):
        raise ValueError("its list of members is not one")
    member = Member(_text(said, "name"), _whole(said, "bytes"), _text(said, "sha256"))
    if not re.fullmatch(r"[0-9a-f]{64}", member.sha256):
        raise ValueError(f"the checksum of {member.name} is not one")
    return member


def _text(said: Mapping[str, Any], key: str) -> str:
    value = said.get(key)
    if not isinstance(value, str):
        raise ValueError(f"its {key} is {value!r}")
    return value


def _whole(said: Mapping[str, Any], key: str) -> int:
    value = said.get(key)
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise ValueError(f"its {key} is {value!r}")
    return value
