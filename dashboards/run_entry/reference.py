"""The reference of a run that is logged from the form."""

from __future__ import annotations

import secrets

_LETTERS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Digits and letters that are not taken for one another when read aloud."""


def new_reference() -> str:
    """Make a reference that no other run has, short enough to be read out: ``F-7K2M-9QXD``."""
    letters = "".join(secrets.choice(_LETTERS) for _ in range(8))
    return f"F-{letters[:4]}-{letters[4:]}"
