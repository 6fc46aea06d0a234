"""Passcodes, by which people come in: kept as hashes that cost memory and time to try.

A passcode is chosen by people and short, so it is kept as a scrypt hash (RFC 7914); the cost
stands beside each hash.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
import unicodedata
from dataclasses import replace

from logbook.errors import ServiceError
from logbook.service.access.credentials import Credentials, Passcode, Role, now_text

SCRYPT_N, SCRYPT_R, SCRYPT_P = 2**15, 8, 1
SCRYPT_BYTES = 128 * SCRYPT_R * (SCRYPT_N + SCRYPT_P) + 2**20
"""What scrypt may take: its table and its blocks, with a little room."""
SHORTEST_PASSCODE, LONGEST_PASSCODE = 8, 128
FEWEST_CHARACTERS = 4
"""Different characters that a passcode must have: 11111111 is tried first."""


def with_passcode(credentials: Credentials, role: Role, passcode: str) -> Credentials:
    """Set the passcode of a role.

    Raises
    ------
    ServiceError
        It is too short, too simple, or that of the other role.
    """
    passcode = _normalised(passcode)
    _refuse_weak(passcode)
    for other, kept in credentials.passcodes.items():
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
        generation=secrets.token_hex(8),
        set_at=now_text(),
    )
    return replace(credentials, passcodes={**credentials.passcodes, role: kept})


def without_passcode(credentials: Credentials, role: Role) -> Credentials:
    """Take the passcode of a role away; its sessions end."""
    left = {each: kept for each, kept in credentials.passcodes.items() if each != role}
    return replace(credentials, passcodes=left)


def is_passcode(kept: Passcode, passcode: str) -> bool:
    """Whether this is the passcode that is kept; slow on purpose."""
    tried = _scrypt(_normalised(passcode), bytes.fromhex(kept.salt), kept.n, kept.r, kept.p)
    return hmac.compare_digest(tried, bytes.fromhex(kept.hashed))


def role_of_passcode(credentials: Credentials, passcode: str) -> Role | None:
    """Whose passcode this is; every one is tried, so that the time says nothing."""
    found = [role for role, kept in credentials.passcodes.items() if is_passcode(kept, passcode)]
    return found[0] if found else None


def _refuse_weak(passcode: str) -> None:
    if not SHORTEST_PASSCODE <= len(passcode) <= LONGEST_PASSCODE:
        raise ServiceError(
            f"A passcode has {SHORTEST_PASSCODE} to {LONGEST_PASSCODE} characters.",
            "three or four unrelated words are easy to type on a phone and hard to guess",
        )
    if len(set(passcode)) < FEWEST_CHARACTERS:
        raise ServiceError(
            f"A passcode needs at least {FEWEST_CHARACTERS} different characters.",
            "choose one that is harder to guess",
        )


def _normalised(passcode: str) -> str:
    # The same letter can be typed as one character or as two; phones and desks differ.
    return unicodedata.normalize("NFKC", passcode).strip()


def _scrypt(passcode: str, salt: bytes, n: int, r: int, p: int) -> bytes:
    content = passcode.encode("utf-8", "surrogatepass")
    return hashlib.scrypt(content, salt=salt, n=n, r=r, p=p, maxmem=SCRYPT_BYTES, dklen=32)
