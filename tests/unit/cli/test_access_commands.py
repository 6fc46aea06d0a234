"""passcode and token as whoever keeps the logbook meets them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from logged_runs import empty_book
from typer.testing import CliRunner, Result

from logbook.cli.app import application
from logbook.service.access.credentials import Credentials, read_credentials
from logbook.service.access.passcodes import role_of_passcode
from logbook.service.access.tokens import token_of

WORDS = "needle hoop towel"


@pytest.fixture
def book(tmp_path: Path) -> Path:
    empty_book(tmp_path / "book").close()
    return tmp_path / "book"


def run(*words: object, book: Path, status: int = 0, told: str | None = None) -> Result:
    done = CliRunner().invoke(application, ["--book", str(book), *map(str, words)], input=told)
    assert done.exit_code == status, done.output
    assert "Traceback" not in done.output
    return done


def _kept(book: Path) -> Credentials:
    credentials = read_credentials(book)
    assert credentials is not None
    return credentials


def test_a_passcode_is_read_from_standard_input_and_shown_nowhere(book: Path) -> None:
    done = run("passcode", "operator", book=book, told=f"{WORDS}\n")
    assert "is set" in done.output
    assert WORDS not in done.output
    assert role_of_passcode(_kept(book), WORDS) == "operator"
    run("passcode", "operator", "--remove", book=book)
    assert role_of_passcode(_kept(book), WORDS) is None


def test_a_refused_passcode_changes_nothing_and_is_not_repeated(book: Path) -> None:
    run("passcode", "operator", book=book, told=f"{WORDS}\n")
    for words, says in (("short", "8 to 128"), ("", "8 to 128"), (WORDS, "of the operators")):
        done = run("passcode", "reviewer", book=book, told=f"{words}\n", status=1)
        assert says in done.output
        assert not words or words not in done.output
    assert set(_kept(book).passcodes) == {"operator"}


def test_a_passcode_is_never_an_argument(book: Path) -> None:
    run("passcode", "operator", WORDS, book=book, status=2)
    run("passcode", "owner", book=book, status=2)


def test_a_token_is_shown_once_listed_by_name_and_removed(book: Path) -> None:
    made = run("token", "add", "counter", "--role", "operator", book=book)
    token = made.stdout.strip()
    found = token_of(_kept(book), token)
    assert found is not None
    assert (found.name, found.role) == ("counter", "operator")
    second = run("token", "add", "office", "--role", "reviewer", "--json", book=book)
    told = json.loads(second.stdout)
    assert (told["name"], told["role"]) == ("office", "reviewer")
    listed = run("token", "list", book=book).output
    assert "counter  operator  added 20" in listed
    assert token not in listed
    assert told["token"] not in listed
    as_json = json.loads(run("token", "list", "--json", book=book).stdout)
    assert [each["name"] for each in as_json["tokens"]] == ["counter", "office"]
    run("token", "remove", "counter", book=book)
    assert token_of(_kept(book), token) is None
    assert "no token named counter" in run("token", "remove", "counter", book=book, status=1).output


@pytest.mark.parametrize(
    "words",
    [
        ("token", "add", "counter"),
        ("token", "add", "--role", "operator"),
        ("token", "list", "counter"),
        ("token", "remove"),
        ("token", "remove", "counter", "--role", "operator"),
    ],
)
def test_half_a_command_is_wrong_usage(book: Path, words: tuple[str, ...]) -> None:
    run(*words, book=book, status=2)


def test_without_a_book_nothing_is_made(tmp_path: Path) -> None:
    done = run("passcode", "operator", book=tmp_path / "none", told=f"{WORDS}\n", status=1)
    assert "There is no book" in done.output
    assert not (tmp_path / "none").exists()
