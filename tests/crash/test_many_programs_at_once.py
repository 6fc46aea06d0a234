"""Many programs that want one book at once: each gets its turn, or is told who has it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from logbook.store import new_book, open_book

PROGRAMS = 4
TURNS = 2
WRITER = """
import sys
from run_frames import frame, run
from logbook.errors import BookBusy
from logbook.store import open_book
place, name, turns, wait = sys.argv[1], sys.argv[2], int(sys.argv[3]), float(sys.argv[4])
print("ready", flush=True)
sys.stdin.readline()
for turn in range(turns):
    try:
        with open_book(place, wait_seconds=wait) as store:
            stored = store.put(frame([run(f"{name}-{turn}")]), source=name)
            print("added", stored.added, flush=True)
    except BookBusy as busy:
        print("busy", busy.process_id, flush=True)
"""


def all_at_once(place: str, *, wait: float) -> tuple[list[str], set[int]]:
    """Start the writers on one word and return what they told, and their process ids."""
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, place, f"P{number}", str(TURNS), str(wait)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env={"PYTHONPATH": ":".join(sys.path)},
        )
        for number in range(PROGRAMS)
    ]
    for writer in writers:
        assert writer.stdout is not None
        assert writer.stdout.readline() == "ready\n"
    for writer in writers:
        assert writer.stdin is not None
        writer.stdin.write("go\n")
        writer.stdin.flush()
    told: list[str] = []
    for writer in writers:
        out, _ = writer.communicate(timeout=300)
        assert writer.returncode == 0
        told += out.splitlines()
    return told, {writer.pid for writer in writers}


def test_programs_that_wait_all_get_their_turn(tmp_path: Path) -> None:
    place = str(tmp_path / "book")
    new_book(place).close()
    told, _ = all_at_once(place, wait=100.0)
    assert told == ["added 1"] * (PROGRAMS * TURNS)
    with open_book(place) as store:
        names = {f"P{number}-{turn}" for number in range(PROGRAMS) for turn in range(TURNS)}
        assert set(store.runs()["run_ref"]) == names


def test_programs_that_do_not_wait_are_told_who_has_the_book(tmp_path: Path) -> None:
    place = str(tmp_path / "book")
    new_book(place).close()
    told, processes = all_at_once(place, wait=0.0)
    assert len(told) == PROGRAMS * TURNS
    busy = [line.removeprefix("busy ") for line in told if line.startswith("busy")]
    assert {int(each) for each in busy} <= processes
    with open_book(place) as store:
        assert store.count() == told.count("added 1") == len(told) - len(busy)
