"""One open book used by many threads at once, as a service does."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

from run_frames import frame, run

from logbook.store import Stored

THREADS = 8
ROUNDS = 6


def test_many_threads_put_and_read(book) -> None:
    start = Barrier(THREADS)

    def work(thread: int) -> list[int]:
        start.wait(timeout=30)
        seen = []
        for number in range(ROUNDS):
            rows = [run(f"R-{thread}-{number}-{part}", machine=f"M{thread}") for part in "ab"]
            assert book.put(frame(rows), source=f"thread {thread}") == Stored(2, 0, 0)
            seen.append(book.count())
            cell = book.cells(["gaps"], by=["machine"])
            # Frames land whole: every machine has an even number of runs at any moment.
            assert all(runs % 2 == 0 for runs in cell["runs"])
            own = cell.filter(cell["machine"] == f"M{thread}")
            assert own["runs"].item() == 2 * (number + 1)
            assert book.runs(refs=[f"R-{thread}-{number}-a"]).height == 1
        return seen

    with ThreadPoolExecutor(THREADS) as pool:
        seen = [task.result() for task in [pool.submit(work, thread) for thread in range(THREADS)]]
    assert all(counts == sorted(counts) for counts in seen)
    assert book.count() == 2 * THREADS * ROUNDS
    assert book.cells(["gaps"])["count"].item() == 2 * THREADS * ROUNDS


def test_many_threads_amend_one_run_and_read_its_history(book) -> None:
    book.put(frame([run("R-1", gaps=0)]), source="form")
    start = Barrier(THREADS)

    def work(thread: int) -> None:
        start.wait(timeout=30)
        for number in range(ROUNDS):
            gaps = 1 + thread * ROUNDS + number
            book.amend("R-1", frame([run("R-1", gaps=gaps)]), why=None, source=f"{thread}")
            versions = [change.version for change in book.history("R-1")]
            assert versions == list(range(1, len(versions) + 1))

    with ThreadPoolExecutor(THREADS) as pool:
        for task in [pool.submit(work, thread) for thread in range(THREADS)]:
            task.result()
    changes = book.history("R-1")
    assert len(changes) == 1 + THREADS * ROUNDS
    assert {change.content["gaps"] for change in changes} == set(range(THREADS * ROUNDS + 1))
    assert book.runs()["gaps"].item() == changes[-1].content["gaps"]


def test_the_same_sheet_from_many_threads_is_added_once(book) -> None:
    sheet = frame([run(f"R-{number}") for number in range(50)])
    start = Barrier(THREADS)

    def work(_: int) -> Stored:
        start.wait(timeout=30)
        return book.put(sheet, source="a.csv")

    with ThreadPoolExecutor(THREADS) as pool:
        stored = list(pool.map(work, range(THREADS)))
    assert sorted((each.added, each.skipped) for each in stored) == [
        *[(0, 50)] * (THREADS - 1),
        (50, 0),
    ]
    assert book.count() == 50


def test_a_history_read_while_its_run_is_withdrawn_is_whole(book) -> None:
    names = [f"R-{number}" for number in range(40)]
    book.put(frame([run(name) for name in names]), source="form")

    def withdraw() -> None:
        for name in names:
            book.withdraw(name, why="test", source="office")

    with ThreadPoolExecutor(4) as pool:
        done = pool.submit(withdraw)
        while not done.done():
            for name in names:
                what = [change.what for change in book.history(name)]
                assert what in (["logged"], ["logged", "withdrawn"])
        done.result()
    assert book.count() == 0
