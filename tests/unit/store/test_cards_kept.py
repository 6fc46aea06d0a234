"""Cards: versions are kept, nobody overwrites what they have not seen."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from run_frames import frame, run

from logbook.errors import CardChanged, CardNotFound, LogbookError
from logbook.store import open_book
from logbook.store.duckdb_store import DuckStore


def test_a_card_is_read_back_as_it_was_kept(book: DuckStore) -> None:
    content = {"per_m2": 0.85, "since": "2026-03-01", "lots": ["A1", "näht ✓"], "note": None}
    assert book.keep_card("prices", "alder", content, source="form", about="Alder") == 1
    [card] = book.cards("prices")
    assert (card.version, card.what, card.about, card.source) == (1, "kept", "Alder", "form")
    assert card.content == content
    assert book.cards("designs") == ()


def test_versions_are_kept_and_the_newest_stands(book: DuckStore) -> None:
    for step in (1, 2, 3):
        why = f"step {step}"
        assert book.keep_card("prices", "alder", {"n": step}, source="form", why=why) == step
    book.keep_card("prices", "birch", {"n": 9}, source="form")
    assert [card.content["n"] for card in book.cards("prices")] == [3, 9]
    history = book.card_history("prices", "alder")
    assert [(card.version, card.why) for card in history] == [
        (1, "step 1"),
        (2, "step 2"),
        (3, "step 3"),
    ]
    assert book.card_history("prices", "nobody") == ()


def test_the_same_content_again_is_no_new_version(book: DuckStore) -> None:
    book.keep_card("prices", "alder", {"n": 1, "m": 2}, source="form")
    assert book.keep_card("prices", "alder", {"m": 2, "n": 1}, source="form", seen=0) == 1
    assert len(book.card_history("prices", "alder")) == 1


def test_what_was_not_seen_is_not_overwritten(book: DuckStore) -> None:
    book.keep_card("prices", "alder", {"n": 1}, source="form", seen=0)
    book.keep_card("prices", "alder", {"n": 2}, source="form", seen=1)
    with pytest.raises(CardChanged, match="changed by somebody else"):
        book.keep_card("prices", "alder", {"n": 3}, source="form", seen=1)
    with pytest.raises(CardChanged):
        book.withdraw_card("prices", "alder", why="old", source="form", seen=1)
    assert book.cards("prices")[0].content == {"n": 2}


def test_a_withdrawn_card_can_be_kept_again(book: DuckStore) -> None:
    book.keep_card("prices", "alder", {"n": 1}, source="form", about="Alder")
    book.withdraw_card("prices", "alder", why="no longer sold", source="form")
    assert book.cards("prices") == ()
    with pytest.raises(CardNotFound):
        book.withdraw_card("prices", "alder", why="again", source="form")
    assert book.keep_card("prices", "alder", {"n": 1}, source="form", seen=0) == 3
    whats = [card.what for card in book.card_history("prices", "alder")]
    assert whats == ["kept", "withdrawn", "kept"]


def test_cards_are_found_by_reference_and_by_what_they_are_about(book: DuckStore) -> None:
    for number in range(4):
        about = "crest" if number % 2 else "badge"
        book.keep_card("places", f"R-{number}", {"n": number}, source="form", about=about)
    found = book.cards("places", refs=["R-3", "R-0", "R-9"])
    assert [card.card_ref for card in found] == ["R-0", "R-3"]
    assert [card.card_ref for card in book.cards("places", about="crest")] == ["R-1", "R-3"]
    assert book.cards("places", refs=[]) == ()


def test_a_card_that_moved_to_another_subject_is_found_there_alone(book: DuckStore) -> None:
    book.keep_card("places", "R-1", {"n": 1}, source="form", about="crest")
    book.keep_card("places", "R-1", {"n": 1}, source="form", about="badge")
    assert book.cards("places", about="crest") == ()
    assert [card.version for card in book.cards("places", about="badge")] == [2]


def test_cards_and_runs_written_at_once_all_arrive(book: DuckStore) -> None:
    def write(number: int) -> str:
        try:
            book.keep_card("prices", f"p-{number % 5}", {"n": number}, source="t", seen=0)
            book.put(frame([run(f"R-{number}", gaps=0)]), source="t")
        except LogbookError as problem:
            return type(problem).__name__
        return "kept"

    with ThreadPoolExecutor(16) as threads:
        said = list(threads.map(write, range(60)))
    assert said.count("kept") == 5
    assert said.count("CardChanged") == 55
    assert len(book.cards("prices")) == 5
    assert book.count() == 5


def test_cards_stay_when_the_book_is_opened_again(book: DuckStore, tmp_path: Path) -> None:
    book.keep_card("prices", "alder", {"n": 1}, source="form")
    place = book.place
    book.close()
    with open_book(place) as again:
        assert [card.content for card in again.cards("prices")] == [{"n": 1}]
        assert again.known("machine") == ()
