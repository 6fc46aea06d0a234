from __future__ import annotations

import json
import stat
from pathlib import Path

import pytest

from logbook.errors import ServiceError
from logbook.service.access.credentials import (
    FILE_NAME,
    Credentials,
    Passcode,
    Token,
    new_credentials,
    read_credentials,
    write_credentials,
)
from logbook.service.access.passcodes import with_passcode
from logbook.service.access.tokens import with_token

WORDS = "needle hoop Größe"


def test_a_file_has_kept_the_names_that_it_had_at_first(tmp_path: Path) -> None:
    kept = {
        "key": "ab" * 32,
        "passcodes": {
            "operator": {
                "salt": "00",
                "hashed": "11",
                "n": 32768,
                "r": 8,
                "p": 1,
                "mark": "2233",
                "set_at": "2026-10-05T08:00:00+00:00",
            }
        },
        "tokens": [
            {
                "name": "counter",
                "role": "operator",
                "sha256": "44",
                "added_at": "2026-10-05T08:00:00+00:00",
            }
        ],
    }
    path = tmp_path / FILE_NAME
    path.write_text(json.dumps(kept), encoding="utf-8")
    moment = "2026-10-05T08:00:00+00:00"
    credentials = read_credentials(tmp_path)
    assert credentials == Credentials(
        "ab" * 32,
        {"operator": Passcode("00", "11", 32768, 8, 1, "2233", moment)},
        (Token("counter", "operator", "44", moment),),
    )
    write_credentials(tmp_path, credentials)
    assert json.loads(path.read_text(encoding="utf-8")) == kept


def test_the_file_holds_no_secret_and_is_for_this_user_alone(tmp_path: Path) -> None:
    credentials, token = with_token(
        with_passcode(new_credentials(), "reviewer", WORDS), "a", "operator"
    )
    write_credentials(tmp_path, credentials)
    path = tmp_path / FILE_NAME
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    text = path.read_text(encoding="utf-8")
    assert WORDS not in text
    assert token not in text
    assert token.partition("_")[2] not in text
    assert read_credentials(tmp_path) == credentials
    assert list(tmp_path.iterdir()) == [path]


def test_nothing_set_is_not_a_fault_but_a_spoilt_file_is(tmp_path: Path) -> None:
    assert read_credentials(tmp_path) is None
    credentials, _ = with_token(new_credentials(), "a", "operator")
    write_credentials(tmp_path, credentials)
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
            read_credentials(tmp_path)
