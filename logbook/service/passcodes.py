"""Who may come in, as it is kept in the book's folder: hashes of passcodes and of tokens.

A passcode is chosen by people and short, so it is kept as a scrypt hash, which costs memory and
time to try (RFC 7914; the cost stands beside each hash). A token is 256 random bits, which nobody
can try out, so its SHA-256 is enough.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import secrets
import unicodedata
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Literal, get_args

from logbook.errors import ServiceError

FILE_NAME = "access.json"
Role = Literal["operator", "reviewer"]
ROLES: tuple[Role, ...] = get_args(Role)
SCRYPT_N, SCRYPT_R, SCRYPT_P = 2**15, 8, 1
SCRYPT_BYTES = 128 * SCRYPT_R * (SCRYPT_N + SCRYPT_P) + 2**20
"""What scrypt may take: its table and its blocks, with a little room."""
SHORTEST_PASSCODE, LONGEST_PASSCODE = 8, 128
FEWEST_SIGNS = 4
"""Different signs that a passcode must have: 11111111 is tried first."""
TOKEN_BYTES = 32
TOKEN_START = "logbook_"
"""So that a token found lying about can be told for what it is."""
LONGEST_NAME = 60


@dataclass(frozen=True, slots=True)
class Passcode:
    """What is kept of a passcode."""

    salt: str
    hashed: str
    n: int
    r: int
    p: int
    mark: str
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
class Rights:
    """All that is kept; ``key`` signs sessions."""

    key: str
    passcodes: Mapping[Role, Passcode] = field(default_factory=dict)
    tokens: tuple[Token, ...] = ()


def new_rights() -> Rights:
    """Nobody yet, and a key of their own."""
    return Rights(secrets.token_hex(32))


def read_rights(folder: Path) -> Rights | None:
    """Read what is kept in a book's folder; None where nothing was ever set.

    Raises
    ------
    ServiceError
        The file is there but cannot be read, or is no such file.
    """
    path = folder / FILE_NAME
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return None
    except PermissionError as cause:
        raise ServiceError(
            f"{path}, which says who may come in, belongs to another user.",
            "set passcodes and tokens as the same user who runs the service",
        ) from cause
    except (OSError, ValueError) as cause:
        raise _unreadable(path) from cause
    try:
        return _from_json(told)
    except (KeyError, TypeError, ValueError, AttributeError) as cause:
        raise _unreadable(path) from cause


def write_rights(folder: Path, rights: Rights) -> None:
    """Keep rights in a book's folder, readable by this user alone, whole or not at all.

    Raises
    ------
    ServiceError
        The folder cannot be written.
    """
    temporary = folder / f".{FILE_NAME}.{secrets.token_hex(4)}.part"
    told = {
        "key": rights.key,
        "passcodes": {role: asdict(each) for role, each in rights.passcodes.items()},
        "tokens": [asdict(each) for each in rights.tokens],
    }
    try:
        # Made with its permissions: the key must not be readable for one moment.
        handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        try:
            with open(handle, "w", encoding="utf-8") as file:  # noqa: PTH123 - an open handle
                json.dump(told, file, indent=1)
                file.flush()
                os.fsync(file.fileno())
            temporary.replace(folder / FILE_NAME)
        finally:
            temporary.unlink(missing_ok=True)
    except OSError as cause:
        raise ServiceError(
            f"{folder / FILE_NAME} cannot be written: {cause.strerror}.",
            "look at who may write in the book's folder",
        ) from cause


def with_passcode(rights: Rights, role: Role, words: str) -> Rights:
    """Set the passcode of a role.

    Raises
    ------
    ServiceError
        It is too short, too simple, or that of the other role.
    """
    passcode = _checked(words)
    for other, kept in rights.passcodes.items():
        if other != role and is_passcode(kept, passcode):
            raise ServiceError(
                f"This is the passcode of the {other}s; nobody could tell the two apart.",
                "choose another",
            )
    salt = secrets.token_bytes(16)
    kept = Passcode(
        salt=salt.hex(),
        hashed=_scrypt(passcode, salt, SCRYPT_N, SCRYPT_R, SCRYPT_P).hex(),
        n=SCRYPT_N,
        r=SCRYPT_R,
        p=SCRYPT_P,
        mark=secrets.token_hex(8),
        set_at=_now(),
    )
    return replace(rights, passcodes={**rights.passcodes, role: kept})


def without_passcode(rights: Rights, role: Role) -> Rights:
    """Take the passcode of a role away; its sessions end."""
    left = {each: kept for each, kept in rights.passcodes.items() if each != role}
    return replace(rights, passcodes=left)


def is_passcode(kept: Passcode, words: str) -> bool:
    """Whether these are the words of a passcode; slow on purpose."""
    salt = bytes.fromhex(kept.salt)
    tried = _scrypt(_same_signs(words), salt, kept.n, kept.r, kept.p)
    return hmac.compare_digest(tried, bytes.fromhex(kept.hashed))


def role_of_passcode(rights: Rights, words: str) -> Role | None:
    """Whose passcode these words are; every passcode is tried, so that the time says nothing."""
    found = [role for role, kept in rights.passcodes.items() if is_passcode(kept, words)]
    return found[0] if found else None


def with_token(rights: Rights, name: str, role: Role) -> tuple[Rights, str]:
    """Add a token; the rights with it, and the token, which is kept nowhere.

    Raises
    ------
    ServiceError
        The name is empty, too long or taken.
    """
    name = " ".join(name.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise ServiceError(
            f"A token needs a name of 1 to {LONGEST_NAME} letters.",
            "name it after what uses it, such as: machine-counter",
        )
    if any(each.name == name for each in rights.tokens):
        raise ServiceError(
            f"There is a token named {name} already.",
            f"remove it first, with: logbook token remove {name}   (or choose another name)",
        )
    token = TOKEN_START + secrets.token_urlsafe(TOKEN_BYTES)
    kept = Token(name, role, _sha256(token), _now())
    return replace(rights, tokens=(*rights.tokens, kept)), token


def without_token(rights: Rights, name: str) -> Rights:
    """Take a token away; what uses it is turned away from now on.

    Raises
    ------
    ServiceError
        There is none of that name.
    """
    left = tuple(each for each in rights.tokens if each.name != name)
    if len(left) == len(rights.tokens):
        raise ServiceError(f"There is no token named {name}.", "see: logbook token list")
    return replace(rights, tokens=left)


def token_of(rights: Rights, presented: str) -> Token | None:
    """Find the token that somebody presents."""
    hashed = _sha256(presented)
    found = None
    for each in rights.tokens:
        if hmac.compare_digest(each.sha256, hashed):
            found = each
    return found


def _checked(words: str) -> str:
    passcode = _same_signs(words)
    if not SHORTEST_PASSCODE <= len(passcode) <= LONGEST_PASSCODE:
        raise ServiceError(
            f"A passcode has {SHORTEST_PASSCODE} to {LONGEST_PASSCODE} characters.",
            "three or four unrelated words are easy to type on a phone and hard to guess",
        )
    if len(set(passcode)) < FEWEST_SIGNS:
        raise ServiceError(
            f"A passcode needs at least {FEWEST_SIGNS} different characters.",
            "choose one that is harder to guess",
        )
    return passcode


def _same_signs(words: str) -> str:
    # The same letter can be typed as one sign or as two; phones and desks differ.
    return unicodedata.normalize("NFKC", words).strip()


def _scrypt(passcode: str, salt: bytes, n: int, r: int, p: int) -> bytes:
    words = passcode.encode("utf-8", "surrogatepass")
    return hashlib.scrypt(words, salt=salt, n=n, r=r, p=p, maxmem=SCRYPT_BYTES, dklen=32)


def _sha256(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


def _from_json(told: Any) -> Rights:
    if len(bytes.fromhex(told["key"])) < 32:
        raise ValueError("key")
    passcodes = {_role(role): Passcode(**kept) for role, kept in told["passcodes"].items()}
    tokens = tuple(Token(**{**kept, "role": _role(kept["role"])}) for kept in told["tokens"])
    return Rights(str(told["key"]), passcodes, tokens)


def _role(name: str) -> Role:
    for role in ROLES:
        if role == name:
            return role
    raise ValueError(name)


def _unreadable(path: Path) -> ServiceError:
    return ServiceError(
        f"{path}, which says who may come in, cannot be read.",
        "take the file away and set the passcodes and tokens anew: logbook passcode operator",
    )
