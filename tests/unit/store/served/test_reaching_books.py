"""Whether a book is opened or reached through a service, and who is let in."""

from __future__ import annotations

import http.client
import json
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from run_frames import frame, run
from served import free_port

from logbook.book import demo
from logbook.book.demo import sample_sheets
from logbook.errors import BookBusy, NoBook, RunConflict, StoreError
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore
from logbook.store.served import ServedStore, reach_book, reaching, running_service
from logbook.store.served.notice import FILE_NAME, Notice, read_notice, remove_notice, write_notice
from logbook.store.served.wire import TOKEN_HEADER, error_in, error_out, from_bytes, to_bytes

GONE = Notice("http://127.0.0.1:1", 2**22 + 1, "token")


def test_a_notice_is_for_its_user_alone_and_is_taken_away_by_its_owner(tmp_path: Path) -> None:
    first, second = replace(GONE, token="one"), replace(GONE, token="two")
    write_notice(tmp_path, first)
    assert (tmp_path / FILE_NAME).stat().st_mode & 0o777 == 0o600
    assert read_notice(tmp_path) == first
    write_notice(tmp_path, second)
    remove_notice(tmp_path, first)
    assert read_notice(tmp_path) == second
    remove_notice(tmp_path, second)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("text", ["", "{", "[]", "7", '{"address": "x"}', '{"process_id": "?"}'])
def test_a_notice_that_cannot_be_read_is_none(tmp_path: Path, text: str) -> None:
    (tmp_path / FILE_NAME).write_text(text)
    assert read_notice(tmp_path) is None


@pytest.mark.parametrize("address", [GONE.address, "nonsense", "http://127.0.0.1:port", "http://"])
def test_a_book_whose_service_is_gone_is_opened(place: str, address: str) -> None:
    new_book(place).close()
    write_notice(Path(place), replace(GONE, address=address))
    assert running_service(place) is None
    with reach_book(place) as store:
        assert isinstance(store, DuckStore)


def test_a_book_that_is_served_is_reached(notice: Notice, place: str) -> None:
    assert running_service(place) == notice
    with reach_book(place) as store:
        assert isinstance(store, ServedStore)
        assert store.address == notice.address


def test_the_demo_book_is_filled_through_its_service(
    notice: Notice, held: DuckStore, place: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(demo, "sample_sheets", lambda: sample_sheets()[:1])
    store, taken = demo.make_demo(place, reach=reach_book)
    assert isinstance(store, ServedStore)
    assert taken.added == held.count() > 100
    assert demo.make_demo(place, reach=reach_book)[1].skipped == held.count()


def test_a_copied_folder_is_a_book_of_its_own(
    notice: Notice, held: DuckStore, place: str, tmp_path: Path
) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(place, copy, ignore=shutil.ignore_patterns("*.duckdb*"))
    assert read_notice(copy) == notice
    assert running_service(str(copy)) is None
    with pytest.raises(NoBook):
        reach_book(str(copy))


def test_without_the_token_nothing_is_answered(notice: Notice, place: str) -> None:
    write_notice(Path(place), replace(notice, token="guessed"))
    assert running_service(place) is None
    where = urlsplit(notice.address)
    for route in ("hello", "count", "put", "settle", "amend", "withdraw"):
        for headers in ({}, {TOKEN_HEADER: ""}, {TOKEN_HEADER: notice.token + "x"}):
            line = http.client.HTTPConnection(where.hostname or "", where.port)
            line.request("POST", f"/book/{route}", b"{}", headers)
            assert line.getresponse().status == 403
            line.close()
    write_notice(Path(place), notice)


def test_defect_kinds_changed_since_the_start_are_told(notice: Notice, place: str) -> None:
    settings = Path(place) / "shop.toml"
    settings.write_text(settings.read_text() + "\n[costs]\npiece_value = 3\n")
    assert reach_book(place).shop.costs.piece_value == 3  # costs count at once
    settings.write_text("")
    with pytest.raises(StoreError, match="defect kinds") as caught:
        reach_book(place)
    assert str(notice.process_id) in str(caught.value.hint)


def test_a_service_that_went_away_is_told_with_what_to_do(place: str) -> None:
    new_book(place).close()
    address = f"http://127.0.0.1:{free_port()}"
    store = ServedStore(replace(GONE, address=address), folder=Path(place), shop=None)
    with pytest.raises(StoreError, match="went away") as caught:
        store.count()
    assert "repeat" in str(caught.value.hint)


HOLDER = """
import sys
from logbook.store import open_book
with open_book(sys.argv[1]) as store:
    print("open", flush=True)
    sys.stdin.readline()
"""


def test_a_book_held_by_another_program_is_told_with_its_process(
    place: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    new_book(place).close()
    with subprocess.Popen(
        [sys.executable, "-c", HOLDER, place],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "open\n"
        with pytest.raises(BookBusy) as busy:
            reach_book(place, wait_seconds=0.2)
        assert busy.value.process_id == holder.pid
        # A service that has the book open and does not answer yet is given longer.
        monkeypatch.setattr(reaching, "STARTING_SECONDS", 1.0)
        write_notice(Path(place), replace(GONE, process_id=holder.pid))
        with pytest.raises(BookBusy):
            reach_book(place, wait_seconds=0.0)
        assert holder.stdin is not None
        holder.stdin.write("\n")
        holder.stdin.flush()
        # And one that lets go meanwhile hands the book over.
        with reach_book(place, wait_seconds=20.0) as store:
            assert store.count() == 0


@pytest.mark.parametrize(
    "problem",
    [
        RunConflict("Taken.", "another one"),
        BookBusy("Busy.", None, process_id=7),
        StoreError("No."),
    ],
)
def test_errors_travel_whole(problem: StoreError) -> None:
    back = error_in(json.loads(json.dumps(error_out(problem))))
    assert (type(back), str(back), vars(back)) == (type(problem), str(problem), vars(problem))


def test_an_error_of_another_version_is_still_told() -> None:
    told = {"error": "Unheard", "message": "What.", "hint": "Do.", "more": {"new": 1}}
    assert str(error_in(told)) == "What.\nhint: Do."
    assert type(error_in(told)) is StoreError
    assert type(error_in(told | {"error": "Any"})) is StoreError


def test_bytes_that_are_no_answer_are_told(place: str) -> None:
    told = to_bytes({"answer": frame([run("R-1")])})
    damaged = (b"", b"x", told[:-1], told[9:], bytes(7) + b"\x02[]", told[:40] + told[50:])
    assert from_bytes(told, {})["answer"]["run_ref"].to_list() == ["R-1"]
    for content in (*damaged, to_bytes({"answer": [1]})):
        with pytest.raises(StoreError, match="not what was asked for"):
            from_bytes(content, {"answer": tuple[str, ...]})
