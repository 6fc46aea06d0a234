"""Spellings in use, remembered between questions, are those of the book after every change."""

from __future__ import annotations

import random
from concurrent.futures import ThreadPoolExecutor

import pytest
from run_frames import frame, many, run

from logbook.store.spellings import Spellings

COLUMNS = ("machine", "fabric", "backing_supplier")
NAMES = ("Alder", "Birch", "Cedar", None)


def _counted_anew(book) -> list[tuple[str, ...]]:
    found = []
    for column in COLUMNS:
        used = book.runs()[column].drop_nulls().to_list()
        found.append(tuple(sorted(set(used), key=lambda name: (-used.count(name), name))))
    return found


def _remembered(book) -> list[tuple[str, ...]]:
    return [book.known(column) for column in COLUMNS]


def _some(chance: random.Random, name: str) -> dict:
    return run(name, **{column: chance.choice(NAMES) for column in COLUMNS})


@pytest.mark.parametrize("seed", range(4))
def test_after_every_change_they_are_those_of_the_book(book, seed: int) -> None:
    chance = random.Random(seed)
    names: list[str] = []
    for step in range(40):
        what = chance.choice(["put", "put", "put again", "half", "large", "amend", "withdraw"])
        if what == "put":
            names += [f"R-{step}-{part}" for part in range(chance.randint(1, 3))]
            rows = [_some(chance, name) for name in names if name.startswith(f"R-{step}-")]
            book.put(frame(rows), source="form")
        elif what in ("put again", "half") and names:
            rows = [_some(chance, chance.choice(names))]
            if what == "half":
                names.append(f"R-{step}")
                rows.append(_some(chance, names[-1]))
            book.put(frame(rows), source="form")
        elif what == "large":
            names.append(f"R-{step}")
            settle = [].append if chance.random() < 0.5 else None
            amend, dry_run = chance.random() < 0.5, chance.random() < 0.3
            rows = frame([_some(chance, names[0]), _some(chance, names[-1])])
            if names[0] != names[-1]:
                book.put(rows, source="sheet", amend=amend, dry_run=dry_run, settle=settle)
        elif names:
            present = book.runs()["run_ref"].to_list()
            if not present:
                continue
            name = chance.choice(present)
            if what == "amend":
                book.amend(name, frame([_some(chance, name)]), why=None, source="form")
            else:
                book.withdraw(name, why="test", source="form")
        assert _remembered(book) == _counted_anew(book), (step, what)


def test_many_threads_leave_them_right(book) -> None:
    book.put(frame([run("R-0", machine="Alder")]), source="form")

    def work(thread: int) -> None:
        chance = random.Random(thread)
        for number in range(12):
            name = f"R-{thread}-{number}"
            book.put(frame([_some(chance, name)]), source="form")
            _remembered(book)
            if number % 4 == 3:
                book.amend(name, frame([_some(chance, name)]), why=None, source="form")
            if thread == 0 and number % 6 == 5:
                book.put(many(600, prefix=f"{name}-", machine="Dogwood"), source="sheet")

    with ThreadPoolExecutor(6) as pool:
        for task in [pool.submit(work, thread) for thread in range(6)]:
            task.result()
    assert _remembered(book) == _counted_anew(book)


def test_a_count_that_fails_is_not_remembered() -> None:
    spellings = Spellings()

    def failing() -> dict[str, int]:
        raise OSError("the disk")

    with pytest.raises(OSError, match="the disk"):
        spellings.of("machine", failing)
    assert spellings.of("machine", lambda: {"M1": 1, "M2": 2}) == ("M2", "M1")
    assert spellings.of("machine", failing) == ("M2", "M1")
    spellings.forget()
    assert spellings.of("machine", dict) == ()
