from __future__ import annotations

import hashlib
from dataclasses import replace

import pytest

from logbook.errors import ServiceError
from logbook.service.access.credentials import (
    Passcode,
    new_credentials,
)
from logbook.service.access.passcodes import (
    is_passcode,
    role_of_passcode,
    with_passcode,
    without_passcode,
)

WORDS = "needle hoop Größe"


def test_a_passcode_is_known_again_and_nothing_like_it() -> None:
    credentials = with_passcode(new_credentials(), "operator", WORDS)
    assert role_of_passcode(credentials, WORDS) == "operator"
    assert role_of_passcode(credentials, f" {WORDS}\n") == "operator"
    assert (
        role_of_passcode(credentials, WORDS.replace("ö", "o\u0308")) == "operator"
    )  # typed elsewhere
    for wrong in ("", WORDS.upper(), WORDS[:-1], f"{WORDS}x"):
        assert role_of_passcode(credentials, wrong) is None


def test_the_hash_is_memory_hard_and_salted() -> None:
    first = with_passcode(new_credentials(), "operator", WORDS).passcodes["operator"]
    again = with_passcode(new_credentials(), "operator", WORDS).passcodes["operator"]
    assert (first.n, first.r, first.p) == (32768, 8, 1)
    assert first.salt != again.salt
    assert first.hashed != again.hashed
    assert first.generation != again.generation


@pytest.mark.parametrize("words", ["", "short", "1111111111", "abababab", "x" * 200 + "yzab"])
def test_a_passcode_that_is_easily_guessed_is_refused(words: str) -> None:
    with pytest.raises(ServiceError, match="passcode") as caught:
        with_passcode(new_credentials(), "operator", words)
    assert caught.value.hint
    assert len(words) < 5 or words not in str(caught.value)


def test_the_two_roles_cannot_share_a_passcode() -> None:
    credentials = with_passcode(new_credentials(), "operator", WORDS)
    with pytest.raises(ServiceError, match="passcode of the operators"):
        with_passcode(credentials, "reviewer", WORDS)
    assert role_of_passcode(with_passcode(credentials, "operator", WORDS), WORDS) == "operator"


def test_a_passcode_can_be_taken_away() -> None:
    credentials = without_passcode(with_passcode(new_credentials(), "operator", WORDS), "operator")
    assert role_of_passcode(credentials, WORDS) is None
    assert not credentials.passcodes


def test_the_cost_that_stands_beside_a_hash_is_used() -> None:
    hashed = hashlib.scrypt(WORDS.encode(), salt=b"0" * 16, n=1024, r=4, p=2, dklen=32)
    kept = Passcode((b"0" * 16).hex(), hashed.hex(), 1024, 4, 2, "mark", "2026-10-05")
    assert is_passcode(kept, WORDS)
    assert not is_passcode(replace(kept, n=2048), WORDS)
