"""Tokens, by which programs come in: 256 random bits, which nobody can try out.

So their SHA-256 is enough to keep.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
from dataclasses import replace

from logbook.errors import ServiceError
from logbook.service.access.credentials import Credentials, Role, Token, now_text

TOKEN_BYTES = 32
TOKEN_START = "logbook_"
"""So that a token found lying about can be told for what it is."""
LONGEST_NAME = 60


def with_token(credentials: Credentials, name: str, role: Role) -> tuple[Credentials, str]:
    """Add a token; the credentials with it, and the token, which is kept nowhere.

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
    if any(each.name == name for each in credentials.tokens):
        raise ServiceError(
            f"There is a token named {name} already.",
            f"remove it first, with: logbook token remove {name}   (or choose another name)",
        )
    token = TOKEN_START + secrets.token_urlsafe(TOKEN_BYTES)
    kept = Token(name, role, _sha256(token), now_text())
    return replace(credentials, tokens=(*credentials.tokens, kept)), token


def without_token(credentials: Credentials, name: str) -> Credentials:
    """Take a token away; what uses it is turned away from now on.

    Raises
    ------
    ServiceError
        There is none of that name.
    """
    left = tuple(each for each in credentials.tokens if each.name != name)
    if len(left) == len(credentials.tokens):
        raise ServiceError(f"There is no token named {name}.", "see: logbook token list")
    return replace(credentials, tokens=left)


def token_of(credentials: Credentials, presented: str) -> Token | None:
    """Find the token that somebody presents; all are compared, so that the time says nothing."""
    hashed = _sha256(presented)
    found = [each for each in credentials.tokens if hmac.compare_digest(each.sha256, hashed)]
    return found[0] if found else None


def _sha256(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()
