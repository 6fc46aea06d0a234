"""What a backup says of itself: whose it is, when it was made, and what it holds."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from logbook.errors import BookNewer

MANIFEST = "manifest.json"
FORMAT_VERSION = 1
Count = Annotated[int, Field(ge=0)]


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, strict=True)


class Member(_Part):
    """One file within an archive."""

    name: str
    bytes: Count
    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class BackedUpBook(_Part):
    """A book: ``mark`` is the same for every backup of it, and of a book restored from one."""

    mark: str
    name: str


class _Kind(_Part):
    format: Literal["logbook backup"] = "logbook backup"
    format_version: Count = FORMAT_VERSION


class Manifest(_Kind):
    """All that an archive says of itself, as its JSON has it; ``tables`` holds rows by table."""

    book: BackedUpBook
    made_at: AwareDatetime
    logbook_version: str
    schema_version: Count
    tables: dict[str, Count]
    members: tuple[Member, ...] = ()


def manifest_text(manifest: Manifest) -> str:
    """The manifest as the archive holds it."""
    return manifest.model_dump_json(indent=1)


def manifest_from(text: bytes) -> Manifest:
    """Read a manifest.

    Raises
    ------
    ValueError
        It is not a manifest.
    BookNewer
        It is of a later kind than this version knows.
    """
    kind = _Kind.model_validate_json(text)
    if kind.format_version > FORMAT_VERSION:
        raise BookNewer(
            f"The backup is of a newer kind ({kind.format_version}; this version knows "
            f"{FORMAT_VERSION}).",
            "update this program, then try again",
        )
    return Manifest.model_validate_json(text)
