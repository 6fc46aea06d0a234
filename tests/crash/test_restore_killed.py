"""A restore or a backup that dies at any moment leaves nothing half-made behind."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from run_frames import many

from logbook.safekeeping.backups import back_up
from logbook.safekeeping.verifying import verify_backup, verify_book
from logbook.store import new_book, open_book

RUNS = 30_000
KILLS = 4


def _started(book: Path, *words: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "logbook", "--book", str(book), *words],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )


def _killed(running: subprocess.Popen[bytes], moment: float) -> bool:
    try:
        running.wait(timeout=moment)
    except subprocess.TimeoutExpired:
        os.kill(running.pid, signal.SIGKILL)
        return running.wait() == -signal.SIGKILL
    return False


@pytest.mark.slow
def test_what_is_killed_leaves_all_or_nothing(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as store:
        store.put(many(RUNS), source="test")
        back_up(store, tmp_path / "book.zip")
    began = time.monotonic()
    assert _started(tmp_path / "first", "restore", str(tmp_path / "book.zip")).wait() == 0
    seconds = time.monotonic() - began

    # Different moments at every run of the tests; the message of a failure names them.
    moments = [random.uniform(0.3, 1.0) * seconds for _ in range(KILLS)]
    killed = 0
    for number, moment in enumerate(moments):
        new = tmp_path / f"new{number}"
        killed += _killed(_started(new, "restore", str(tmp_path / "book.zip")), moment)
        if new.exists():
            with open_book(str(new)) as store:
                assert store.count() == RUNS, moments
                assert verify_book(store).whole, moments
        else:
            # And it can be restored after all, whatever the killed one left beside.
            assert _started(new, "restore", str(tmp_path / "book.zip")).wait() == 0, moments

    archive = tmp_path / "later.zip"
    for moment in moments:
        killed += _killed(_started(tmp_path / "book", "backup", str(archive)), moment)
        if archive.exists():
            assert verify_backup(archive).whole, moments
    assert killed > 0, moments
