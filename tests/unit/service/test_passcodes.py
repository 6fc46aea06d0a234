from __future__ import annotations

import hashlib
import json
import stat
from dataclasses import replace
from pathlib import Path

import pytest

from logbook.errors import ServiceError
from logbook.service.passcodes import (
    FILE_NAME,
    Passcode,
    is_passcode,
    new_rights,
    read_rights,
    role_of_passcode,
    token_of,
    with_passcode,
    with_token,
    without_passcode,
    without_token,
    write_rights,
)

WORDS = "needle hoop Größe"


def test_a_passcode_is_known_again_and_nothing_like_it() -> None:
    rights = with_passcode(new_rights(), "operator", WORDS)
    assert role_of_passcode(rights, WORDS) == "operator"
    assert role_of_passcode(rights, f" {WORDS}\n") == "operator"
    assert role_of_passcode(rights, WORDS.replace("ö", "o\u0308")) == "operator"  # typed elsewhere
    for wrong in ("", WORDS.upper(), WORDS[:-1], f"{WORDS}x"):
        assert role_of_passcode(rights, wrong) is None


def test_the_hash_is_memory_hard_and_salted() -> None:
    first = with_passcode(new_rights(), "operator", WORDS).passcodes["operator"]
    again = with_passcode(new_rights(), "operator", WORDS).passcodes["operator"]
    assert (first.n, first.r, first.p) == (32768, 8, 1)
    assert first.salt != again.salt
    assert first.hashed != again.hashed
    assert first.mark != again.mark


@pytest.mark.parametrize("words", ["", "short", "1111111111", "abababab", "x" * 200 + "yzab"])
def test_a_passcode_that_is_easily_guessed_is_refused(words: str) -> None:
    with pytest.raises(ServiceError, match="passcode") as caught:
        with_passcode(new_rights(), "operator", words)
    assert caught.value.hint
    assert len(words) < 5 or words not in str(caught.value)


def test_the_two_roles_cannot_share_a_passcode() -> None:
    rights = with_passcode(new_rights(), "operator", WORDS)
    with pytest.raises(ServiceError, match="passcode of the operators"):
        with_passcode(rights, "reviewer", WORDS)
    assert role_of_passcode(with_passcode(rights, "operator", WORDS), WORDS) == "operator"


def test_a_token_is_found_until_it_is_removed() -> None:
    rights, token = with_token(new_rights(), "counter", "operator")
    rights, other = with_token(rights, "office", "reviewer")
    found = token_of(rights, token)
    assert found is not None
    assert (found.name, found.role) == ("counter", "operator")
    assert token != other
    assert len(token) >= 43  # 256 bits
    assert token_of(rights, token + "x") is None
    assert token_of(without_token(rights, "counter"), token) is None
    with pytest.raises(ServiceError, match="already"):
        with_token(rights, "counter", "reviewer")
    with pytest.raises(ServiceError, match="no token named nobody"):
        without_token(rights, "nobody")
    with pytest.raises(ServiceError, match="name"):
        with_token(rights, "  ", "reviewer")


def test_the_file_holds_no_secret_and_is_for_this_user_alone(tmp_path: Path) -> None:
    rights, token = with_token(with_passcode(new_rights(), "reviewer", WORDS), "a", "operator")
    write_rights(tmp_path, rights)
    path = tmp_path / FILE_NAME
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    text = path.read_text(encoding="utf-8")
    assert WORDS not in text
    assert token not in text
    assert token.partition("_")[2] not in text
    assert read_rights(tmp_path) == rights
    assert list(tmp_path.iterdir()) == [path]


def test_nothing_set_is_not_a_fault_but_a_spoilt_file_is(tmp_path: Path) -> None:
    assert read_rights(tmp_path) is None
    rights, _ = with_token(new_rights(), "a", "operator")
    write_rights(tmp_path, rights)
    path = tmp_path / FILE_NAME
    whole = path.read_text(encoding="utf-8")
    for spoilt in (
        "",
        "[]",
        "{}",
        "null",
        whole[:-5],
        whole.replace("operator", "owner"),
        json.dumps({"key": "00", "passcodes": {}, "tokens": []}),
    ):
        path.write_text(spoilt, encoding="utf-8")
        with pytest.raises(ServiceError, match="cannot be read"):
            read_rights(tmp_path)


def test_a_passcode_can_be_taken_away() -> None:
    rights = without_passcode(with_passcode(new_rights(), "operator", WORDS), "operator")
    assert role_of_passcode(rights, WORDS) is None
    assert not rights.passcodes


def test_the_cost_that_stands_beside_a_hash_is_used() -> None:
    hashed = hashlib.scrypt(WORDS.encode(), salt=b"0" * 16, n=1024, r=4, p=2, dklen=32)
    kept = Passcode((b"0" * 16).hex(), hashed.hex(), 1024, 4, 2, "mark", "2026-10-05")
    assert is_passcode(kept, WORDS)
    assert not is_passcode(replace(kept, n=2048), WORDS)
