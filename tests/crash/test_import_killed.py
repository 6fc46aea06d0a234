"""An import of a large sheet that dies at any moment leaves nothing or everything behind."""

from __future__ import annotations

import csv
import os
import random
import signal
import subprocess
import sys
import time
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from program import answer

from logbook.store import new_book, open_book

ROWS = 100_000
KILLS = 6
WORDS = ("import", "--json")


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("large") / "large.csv"
    start = datetime(2024, 1, 1, 6)
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(("run_ref", "finished_at", "machine", "pieces_inspected", "puckering"))
        writer.writerows(
            (
                f"R-{number:06d}",
                (start + timedelta(minutes=5 * number)).isoformat(),
                f"M{number % 9}",
                24,
                number % 5,
            )
            for number in range(ROWS)
        )
    return path


def _started(book: Path, sheet: Path) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "logbook", "--book", str(book), *WORDS, str(sheet)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )


def _held(book: Path) -> int:
    with open_book(str(book)) as store:
        return store.count()


@pytest.mark.slow
def test_a_killed_import_left_nothing_or_everything(sheet: Path, tmp_path: Path) -> None:
    book = tmp_path / "book"
    new_book(str(book)).close()
    whole = tmp_path / "whole"
    new_book(str(whole)).close()
    # How long an undisturbed import takes on this machine says when there is something to kill.
    began = time.monotonic()
    assert _started(whole, sheet).wait() == 0
    seconds = time.monotonic() - began
    assert _held(whole) == ROWS

    # Different moments at every run of the tests; the message of a failure names them.
    moments = [random.uniform(0.15, 1.0) * seconds for _ in range(KILLS)]
    killed = 0
    for moment in moments:
        running = _started(book, sheet)
        try:
            running.wait(timeout=moment)
        except subprocess.TimeoutExpired:
            os.kill(running.pid, signal.SIGKILL)
            killed += running.wait() == -signal.SIGKILL
        assert _held(book) in (0, ROWS), moments
        assert list(sheet.parent.iterdir()) == [sheet], moments
    assert killed > 0, moments

    before = _held(book)
    taken = answer(*WORDS[:1], str(sheet), book=book)
    assert (taken["added"], taken["skipped"], taken["rejected"]) == (ROWS - before, before, 0)
    assert _held(book) == ROWS
