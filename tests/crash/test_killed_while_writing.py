"""A process killed in the middle of a large put leaves whole frames, or nothing of them."""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from run_frames import frame, many, run

from logbook.store import Stored, new_book, open_book

ROWS = 20_000
KILLS = 8
WRITER = """
import sys
from run_frames import many
from logbook.store import open_book
place, life, rows = sys.argv[1], sys.argv[2], int(sys.argv[3])
names = [f"L{life}-{number}" for number in range(4)]
sheets = [many(rows, prefix=f"{name}-", machine=name) for name in names]
amended = many(rows, prefix=f"L{life}-0-", machine=f"L{life}-0", gaps=2)
with open_book(place, wait_seconds=30) as store:
    for number, sheet in enumerate(sheets):
        print("begin", number, flush=True)
        store.put(sheet, source="test")
        print("done", number, flush=True)
    print("begin amending", flush=True)
    store.put(amended, source="test", amend=True)
    print("done amending", flush=True)
    sys.stdin.readline()
"""


def life_cut_short(place: str, life: int, chance: random.Random) -> list[str]:
    """Run a writer, kill it a moment after some frame was begun, and return what it told."""
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, place, str(life), str(ROWS)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={"PYTHONPATH": ":".join(sys.path)},
    )
    with writer:
        assert writer.stdout is not None
        told: list[str] = []
        last = chance.choice(["begin 0", "begin 1", "begin 3", "begin amending"])
        while last not in told:
            line = writer.stdout.readline()
            assert line, told
            told.append(line.strip())
        time.sleep(chance.uniform(0.0, 0.5))
        writer.send_signal(signal.SIGKILL)
        told += [line.strip() for line in writer.stdout]
    assert writer.returncode == -signal.SIGKILL
    return told


@pytest.mark.slow
def test_a_killed_writer_leaves_whole_frames(tmp_path: Path) -> None:
    place = str(tmp_path / "book")
    new_book(place).close()
    chance = random.Random(20261005)
    for life in range(KILLS):
        told = life_cut_short(place, life, chance)
        with open_book(place) as store:
            machines = store.cells(["gaps"], by=["machine"])
            # Whole frames only, of this life and of all before it.
            assert set(machines["runs"]) <= {ROWS}
            kept = {name for name in machines["machine"] if name.startswith(f"L{life}-")}
            begun = {f"L{life}-{line.split()[1]}" for line in told if line[-1].isdigit()}
            done = {f"L{life}-{line.split()[1]}" for line in told if line.startswith("done")}
            assert done - {f"L{life}-amending"} <= kept <= begun
            counts = dict(machines.select("machine", "count").rows())
            first = counts.get(f"L{life}-0", 0)
            assert first in ({2 * ROWS} if "done amending" in told else {0, ROWS, 2 * ROWS})
            versions = len(store.history(f"L{life}-0-{ROWS - 1}"))
            assert versions == first / ROWS
            # And the book goes on: what was lost can be put again, what is there is skipped.
            again = many(ROWS, prefix=f"L{life}-0-", machine=f"L{life}-0")
            expected = Stored(0, ROWS, 0) if first else Stored(ROWS, 0, 0)
            assert store.put(again, source="test") == expected


def test_a_writer_killed_between_settling_and_commit_leaves_nothing(tmp_path: Path) -> None:
    place = str(tmp_path / "book")
    with new_book(place) as store:
        store.put(frame([run("before")]), source="test")
    script = """
import os, signal, sys
from run_frames import many
from logbook.store import open_book
def settle(stored):
    os.kill(os.getpid(), signal.SIGKILL)
open_book(sys.argv[1]).put(many(5000), source="test", settle=settle)
"""
    done = subprocess.run(
        [sys.executable, "-c", script, place],
        env={"PYTHONPATH": ":".join(sys.path)},
        timeout=60,
        check=False,
    )
    assert done.returncode == -signal.SIGKILL
    with open_book(place) as store:
        assert store.runs()["run_ref"].to_list() == ["before"]
        assert store.put(many(5000), source="test").added == 5000


@pytest.mark.parametrize("moment", ["amend", "withdraw"])
def test_what_was_changed_last_survives_the_kill(tmp_path: Path, moment: str) -> None:
    place = str(tmp_path / "book")
    with new_book(place) as store:
        store.put(frame([run("R-1")]), source="test")
    script = """
import os, signal, sys
from run_frames import frame, run
from logbook.store import open_book
store = open_book(sys.argv[1])
if sys.argv[2] == "amend":
    store.amend("R-1", frame([run("R-1", gaps=7)]), why="miscounted", source="test")
else:
    store.withdraw("R-1", why="miscounted", source="test")
os.kill(os.getpid(), signal.SIGKILL)
"""
    done = subprocess.run(
        [sys.executable, "-c", script, place, moment],
        env={"PYTHONPATH": ":".join(sys.path)},
        timeout=60,
        check=False,
    )
    assert done.returncode == -signal.SIGKILL
    with open_book(place) as store:
        assert [change.why for change in store.history("R-1")] == [None, "miscounted"]
        assert store.runs()["gaps"].to_list() == ([7] if moment == "amend" else [])
