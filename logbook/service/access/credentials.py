"""What is kept in the book's folder of who may come in: hashes of passcodes and of tokens."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Literal, get_args

from pydantic import Field, TypeAdapter

from logbook.atomic_files import write_atomically
from logbook.errors import ServiceError

FILE_NAME = "access.json"
KEY_BYTES = 32
Role = Literal["operator", "reviewer"]
ROLES: tuple[Role, ...] = get_args(Role)


@dataclass(frozen=True, slots=True)
class Passcode:
    """What is kept of a passcode."""

    salt: str
    hashed: str
    n: int
    r: int
    p: int
    generation: Annotated[str, Field(alias="mark")]
    """Changes with the passcode; sessions carry it, so that a changed passcode ends them."""
    set_at: str


@dataclass(frozen=True, slots=True)
class Token:
    """What is kept of a token."""

    name: str
    role: Role
    sha256: str
    added_at: str


@dataclass(frozen=True, slots=True)
class Credentials:
    """All that is kept; ``key`` signs sessions (hexadecimal)."""

    key: Annotated[str, Field(pattern=f"^([0-9a-f]{{2}}){{{KEY_BYTES},}}$")]
    passcodes: Mapping[Role, Passcode] = field(default_factory=dict)
    tokens: tuple[Token, ...] = ()


_FILE = TypeAdapter(Credentials)


def new_credentials() -> Credentials:
    """Nobody yet, and a key of their own."""
    return Credentials(secrets.token_hex(KEY_BYTES))


def read_credentials(folder: Path) -> Credentials | None:
    """Read what is kept in a book's folder; None where nothing was ever set.

    Raises
    ------
    ServiceError
        The file is there but cannot be read, or is no such file.
    """
    path = folder / FILE_NAME
    try:
        return _FILE.validate_json(path.read_bytes())
    except FileNotFoundError:
        return None
    except PermissionError as cause:
        raise ServiceError(
            f"{path}, which says who may come in, belongs to another user.",
            "set passcodes and tokens as the same user who runs the service",
        ) from cause
    except (OSError, ValueError) as cause:
        raise ServiceError(
            f"{path}, which says who may come in, cannot be read.",
            "take the file away and set the passcodes and tokens anew: logbook passcode operator",
        ) from cause


def write_credentials(folder: Path, credentials: Credentials) -> None:
    """Keep credentials in a book's folder, readable by this user alone, whole or not at all.

    Raises
    ------
    ServiceError
        The folder cannot be written.
    """
    content = _FILE.dump_json(credentials, by_alias=True, indent=1)
    try:
        write_atomically(folder / FILE_NAME, content, mode=0o600)
    except OSError as cause:
        raise ServiceError(
            f"{folder / FILE_NAME} cannot be written: {cause.strerror}.",
            "look at who may write in the book's folder",
        ) from cause


def now_text() -> str:
    """Write this moment as it is kept beside a passcode or a token."""
    return datetime.now(UTC).isoformat(timespec="seconds")
