"""A disk that takes no more: told plainly, nothing half kept, and the book opens again."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from run_frames import many

from logbook.store import Stored, new_book, open_book

ROWS = 30_000
# The limit on the size of one file makes a write fail as a full disk does, for this process alone.
WRITER = """
import resource, signal, sys
from pathlib import Path
from run_frames import many
from logbook.errors import BookReadOnly, StoreError
from logbook.store import open_book
place, room, rows = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
store = open_book(place)
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
most = (Path(place) / "logbook.duckdb").stat().st_size + room
resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
try:
    store.put(many(rows, prefix="big-", notes="a long remark " * 20), source="test")
    print("kept")
except BookReadOnly as problem:
    print("BookReadOnly", problem.message, "|", problem.hint)
try:
    print("count", store.count())
except StoreError as problem:
    print("StoreError", problem.message, "|", problem.hint)
"""


@pytest.mark.parametrize("room", [0, 100_000])
def test_a_full_disk_keeps_nothing_of_the_frame(tmp_path: Path, room: int) -> None:
    place = str(tmp_path / "book")
    with new_book(place) as store:
        store.put(many(500), source="test")
    done = subprocess.run(
        [sys.executable, "-c", WRITER, place, str(room), str(ROWS)],
        capture_output=True,
        text=True,
        env={"PYTHONPATH": ":".join(sys.path)},
        timeout=120,
        check=True,
    )
    told, after = done.stdout.splitlines()
    assert told.startswith("BookReadOnly")
    assert "is full" in told
    assert "make room" in told
    # The engine may go on or ask for a new start; either way it never counts half a frame.
    assert after == "count 500" or "start this program again" in after
    with open_book(place) as store:
        assert store.count() == 500
        big = many(ROWS, prefix="big-", notes="a long remark " * 20)
        assert store.put(big, source="test") == Stored(ROWS, 0, 0)
        assert store.put(many(500), source="test") == Stored(0, 500, 0)
