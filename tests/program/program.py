"""Drives the program as a user does: a run sheet in, ``--json`` out."""

from __future__ import annotations

import csv
import json
import subprocess
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from typer.testing import CliRunner

from logbook.cli.app import application

FIRST_DAY = date(2026, 1, 5)


def logbook(*words: str, book: Path | None = None, expect: int = 0) -> str:
    """Run one command in this process and return what it wrote to standard output."""
    done = CliRunner().invoke(application, _line(words, book), prog_name="logbook")
    assert done.exit_code == expect, f"{words}: {done.exit_code}\n{done.output}"
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done.stdout


def logbook_process(*words: str, book: Path | None = None, expect: int = 0) -> str:
    """Run one command in a process of its own, which takes a second or two to start."""
    done = subprocess.run(
        [sys.executable, "-W", "error", "-m", "logbook", *_line(words, book)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == expect, f"{words}: {done.returncode}\n{done.stdout}\n{done.stderr}"
    return done.stdout


def _line(words: Sequence[str], book: Path | None) -> list[str]:
    return [*([] if book is None else ["--book", str(book)]), *words]


def answer(
    *words: str, book: Path, expect: int = 0, run: Callable[..., str] = logbook
) -> dict[str, Any]:
    """Run a command with ``--json`` and read its one object."""
    return json.loads(run(*words, "--json", book=book, expect=expect))


def write_sheet(path: Path, rows: Iterable[Mapping[str, Any]]) -> Path:
    """Write rows as a CSV run sheet."""
    lines = list(rows)
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, fieldnames=list(lines[0]))
        writer.writeheader()
        writer.writerows(lines)
    return path


def days(number: int) -> Sequence[str]:
    """So many days in a row, as a run sheet writes them."""
    return [(FIRST_DAY + timedelta(days=step)).isoformat() for step in range(number)]


def book_of(folder: Path, rows: Iterable[Mapping[str, Any]]) -> Path:
    """A new book that holds these rows, all of them."""
    book = folder / "book"
    lines = list(rows)
    logbook("new", str(book))
    taken = answer("import", str(write_sheet(folder / "sheet.csv", lines)), book=book)
    assert taken["added"] == len(lines), taken
    return book
