"""A book through its service answers, refuses and settles as the open book itself does."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl
import pytest
from run_frames import frame, many, run

from logbook.errors import (
    DocumentChanged,
    DocumentNotFound,
    LogbookError,
    RunChanged,
    RunConflict,
    RunNotFound,
    StoreError,
)
from logbook.store import Store, Stored, Window
from logbook.store.duckdb_store import DuckStore
from logbook.store.served import ServedStore, reach_book
from logbook.store.served.notice import Notice
from logbook.store.served.operations import STORE_OPERATIONS
from logbook.store.served.pending import PendingPuts


@pytest.fixture
def through(notice: Notice, place: str) -> ServedStore:
    store = reach_book(place)
    assert isinstance(store, ServedStore)
    return store


WINDOW = Window(since=date(2026, 1, 1), until=date(2026, 12, 31), where={"machine": "M2"})
QUESTIONS: tuple[Callable[[Store], Any], ...] = (
    lambda store: store.count(),
    lambda store: store.span(),
    lambda store: store.known("machine"),
    lambda store: store.last_run(),
    lambda store: store.last_run(machine="nowhere"),
    lambda store: store.history("R-1"),
    lambda store: store.history("R-3"),
    lambda store: store.history("nowhere"),
    lambda store: store.runs(),
    lambda store: store.runs(WINDOW, newest_first=True, limit=2),
    lambda store: store.runs(newest_first=True, limit=2, offset=3),
    lambda store: store.runs(Window(words=("r-", "M1"), showing="gaps")),
    lambda store: store.totals(window=Window(held=True)),
    lambda store: store.runs(refs=["R-1", "R-2"]),
    lambda store: store.runs(refs=[]),
    lambda store: store.cells(["gaps", "any", "loose_ends"], by=["week", "machine"]),
    lambda store: store.cells(["gaps"], window=WINDOW),
    lambda store: store.totals(by=["machine"], window=WINDOW),
    lambda store: store.documents("prices"),
    lambda store: store.documents("prices", keys=["p-1"], about="Alder"),
    lambda store: store.document_history("prices", "p-1"),
    lambda store: store.place,
    lambda store: store.folder,
    lambda store: store.shop,
)


def _plain(answer: Any) -> Any:
    return (answer.schema, answer.rows()) if isinstance(answer, pl.DataFrame) else answer


def test_every_operation_of_the_interface_can_be_asked() -> None:
    public = {name for name in vars(Store) if not name.startswith("_")}
    assert set(STORE_OPERATIONS) == public - {"close", "last_run"}
    assert all(vars(ServedStore)[name].__doc__ for name in STORE_OPERATIONS)


def test_every_question_is_answered_alike(held: DuckStore, through: ServedStore) -> None:
    for question in QUESTIONS[:3]:
        assert _plain(question(through)) == _plain(question(held))  # of an empty book
    rows = [run(f"R-{number}", machine=f"M{number % 3}", gaps=number % 2) for number in range(9)]
    assert through.put(frame(rows), source="form") == Stored(9, 0, 0)
    through.amend("R-1", frame([run("R-1", machine="M1", gaps=3)]), why="é ?&", source="form")
    through.withdraw("R-3", why="entered twice", source="form")
    for question in QUESTIONS:
        assert _plain(question(through)) == _plain(question(held))
    assert held.history("R-1")[-1].why == "é ?&"


REFUSED: tuple[Callable[[Store], Any], ...] = (
    lambda store: store.known("gaps"),
    lambda store: store.cells(["nonsense"]),
    lambda store: store.withdraw("nowhere", why="x", source="form"),
    lambda store: store.withdraw("here", why="x", source="form", seen=7),
    lambda store: store.amend("here", frame([run("here")]), why="x", source="form", seen=7),
    lambda store: store.withdraw("gone", why="x", source="form"),
    lambda store: store.amend("nowhere", frame([run("x")]), why=None, source="form"),
    lambda store: store.put(pl.DataFrame({"colour": [1]}), source="form"),
    lambda store: store.put(frame([{"run_ref": None}]), source="form"),
)


def test_every_refusal_is_said_in_the_same_words(held: DuckStore, through: ServedStore) -> None:
    held.put(frame([run("gone"), run("here")]), source="form")
    held.withdraw("gone", why="test", source="form")
    kinds = set()
    for refused in REFUSED:
        said = []
        for store in (held, through):
            with pytest.raises(LogbookError) as caught:
                refused(store)
            said.append((type(caught.value), str(caught.value)))
        assert said[0] == said[1]
        kinds.add(said[0][0])
    assert kinds == {StoreError, RunNotFound, RunConflict, RunChanged}


def test_a_frame_is_settled_by_its_sender_before_it_is_kept(
    held: DuckStore, through: ServedStore
) -> None:
    held.put(frame([run("there", gaps=1)]), source="form")
    sheet = frame([run("there", gaps=2), run("new")])
    seen: list[tuple[Stored, int]] = []
    done: list[int] = []

    def settle(stored: Stored) -> None:
        seen.append((stored, held.count()))

    expected = Stored(1, 0, 0, (0,))
    for dry_run, after in ((True, 1), (False, 2)):
        put = through.put(
            sheet, source="sheet", dry_run=dry_run, settle=settle, progress=done.append
        )
        assert put == expected
        assert held.count() == after
    assert seen == [(expected, 1)] * 2
    assert sum(done) == 2 * sheet.height


def test_a_sender_that_fails_to_settle_keeps_nothing(held: DuckStore, through: ServedStore) -> None:
    def settle(stored: Stored) -> None:
        raise OSError("no room for the rejects")

    large = many(2_000)
    with pytest.raises(OSError, match="no room"):
        through.put(large, source="sheet", settle=settle)
    assert held.count() == 0
    assert through.put(large, source="sheet", settle=[].append) == Stored(2_000, 0, 0)


def test_a_sender_that_goes_away_keeps_nothing_and_holds_nobody_up(held: DuckStore) -> None:
    pending = PendingPuts(lambda: held, seconds=0.3)
    large = many(1_000)
    name, would = pending.put_pending(large, source="sheet", amend=False, as_sent=None)
    assert would == Stored(1_000, 0, 0)
    # About one of its runs: answered once the frame is dropped.
    assert held.put(large.head(1), source="form") == Stored(1, 0, 0)
    assert held.count() == 1
    with pytest.raises(StoreError, match="dropped"):
        pending.settle(name, keep=True)


def test_frames_from_many_senders_all_land(held: DuckStore, through: ServedStore) -> None:
    def send(number: int) -> None:
        sheet = many(300, prefix=f"S{number}-")
        landed.append(through.put(sheet, source="sheet", settle=[].append))

    landed: list[Stored] = []
    senders = [threading.Thread(target=send, args=(number,)) for number in range(6)]
    for sender in senders:
        sender.start()
    for sender in senders:
        sender.join(60)
    assert landed == [Stored(300, 0, 0)] * 6
    assert held.count() == 1_800


def test_runs_are_known_again_as_they_were_sent(held: DuckStore, through: ServedStore) -> None:
    sent = frame([run("R-1", design="00112233445566aa")], held.shop.own)
    assert through.put(sent, source="sheet") == Stored(1, 0, 0)
    filled = sent.with_columns(design=pl.lit("Crest"), density=pl.lit(5.4))
    as_sent = sent.select("design", "density")
    assert through.put(filled, source="sheet") == Stored(0, 0, 0, (0,))
    assert through.put(filled, source="sheet", as_sent=as_sent) == Stored(0, 1, 0)
    settled: list[Stored] = []
    known = through.put(filled, source="sheet", as_sent=as_sent, settle=settled.append)
    assert [known, *settled] == [Stored(0, 1, 0)] * 2
    assert through.put(filled, source="sheet", as_sent=as_sent, amend=True) == Stored(0, 0, 1)
    assert held.runs()["design"].to_list() == ["Crest"]


def test_a_snapshot_is_written_where_the_command_says(
    held: DuckStore, through: ServedStore, tmp_path: Path
) -> None:
    held.put(frame([run("R-1")]), source="form")
    assert through.snapshot(tmp_path)["runs"] == 1
    assert pl.read_parquet(tmp_path / "runs.parquet")["run_ref"].to_list() == ["R-1"]


def test_documents_are_kept_refused_and_withdrawn_through_the_service(
    held: DuckStore, through: ServedStore
) -> None:
    assert through.put_document("prices", "p-1", {"n": 1}, source="cli", about="Alder") == 1
    assert through.put_document("prices", "p-1", {"n": 2}, source="cli", about="Alder", seen=1) == 2
    for question in QUESTIONS:
        assert _plain(question(through)) == _plain(question(held))
    with pytest.raises(DocumentChanged):
        through.put_document("prices", "p-1", {"n": 3}, source="cli", seen=1)
    through.withdraw_document("prices", "p-1", why="no longer sold", source="cli")
    assert held.documents("prices") == ()
    with pytest.raises(DocumentNotFound):
        through.withdraw_document("prices", "p-1", why="again", source="cli")
