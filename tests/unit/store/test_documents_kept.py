"""Documents: versions are kept, nobody overwrites what they have not seen."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from run_frames import frame, run

from logbook.errors import DocumentChanged, DocumentNotFound, LogbookError
from logbook.store import open_book
from logbook.store.duckdb_store import DuckStore


def test_a_document_is_read_back_as_it_was_kept(book: DuckStore) -> None:
    content = {"per_m2": 0.85, "since": "2026-03-01", "lots": ["A1", "näht ✓"], "note": None}
    assert book.put_document("prices", "alder", content, source="form", about="Alder") == 1
    [document] = book.documents("prices")
    assert (document.version, document.what, document.about, document.source) == (
        1,
        "kept",
        "Alder",
        "form",
    )
    assert document.content == content
    assert book.documents("designs") == ()


def test_versions_are_kept_and_the_newest_stands(book: DuckStore) -> None:
    for step in (1, 2, 3):
        why = f"step {step}"
        assert book.put_document("prices", "alder", {"n": step}, source="form", why=why) == step
    book.put_document("prices", "birch", {"n": 9}, source="form")
    assert [document.content["n"] for document in book.documents("prices")] == [3, 9]
    history = book.document_history("prices", "alder")
    assert [(document.version, document.why) for document in history] == [
        (1, "step 1"),
        (2, "step 2"),
        (3, "step 3"),
    ]
    assert book.document_history("prices", "nobody") == ()


def test_the_same_content_again_is_no_new_version(book: DuckStore) -> None:
    book.put_document("prices", "alder", {"n": 1, "m": 2}, source="form")
    assert book.put_document("prices", "alder", {"m": 2, "n": 1}, source="form", seen=0) == 1
    assert len(book.document_history("prices", "alder")) == 1


def test_what_was_not_seen_is_not_overwritten(book: DuckStore) -> None:
    book.put_document("prices", "alder", {"n": 1}, source="form", seen=0)
    book.put_document("prices", "alder", {"n": 2}, source="form", seen=1)
    with pytest.raises(DocumentChanged, match="changed by somebody else"):
        book.put_document("prices", "alder", {"n": 3}, source="form", seen=1)
    with pytest.raises(DocumentChanged):
        book.withdraw_document("prices", "alder", why="old", source="form", seen=1)
    assert book.documents("prices")[0].content == {"n": 2}


def test_a_withdrawn_document_can_be_kept_again(book: DuckStore) -> None:
    book.put_document("prices", "alder", {"n": 1}, source="form", about="Alder")
    book.withdraw_document("prices", "alder", why="no longer sold", source="form")
    assert book.documents("prices") == ()
    with pytest.raises(DocumentNotFound):
        book.withdraw_document("prices", "alder", why="again", source="form")
    assert book.put_document("prices", "alder", {"n": 1}, source="form", seen=0) == 3
    whats = [document.what for document in book.document_history("prices", "alder")]
    assert whats == ["kept", "withdrawn", "kept"]


def test_documents_are_found_by_reference_and_by_what_they_are_about(book: DuckStore) -> None:
    for number in range(4):
        about = "crest" if number % 2 else "badge"
        book.put_document("places", f"R-{number}", {"n": number}, source="form", about=about)
    found = book.documents("places", keys=["R-3", "R-0", "R-9"])
    assert [document.key for document in found] == ["R-0", "R-3"]
    assert [document.key for document in book.documents("places", about="crest")] == ["R-1", "R-3"]
    assert book.documents("places", keys=[]) == ()


def test_a_document_that_moved_to_another_subject_is_found_there_alone(book: DuckStore) -> None:
    book.put_document("places", "R-1", {"n": 1}, source="form", about="crest")
    book.put_document("places", "R-1", {"n": 1}, source="form", about="badge")
    assert book.documents("places", about="crest") == ()
    assert [document.version for document in book.documents("places", about="badge")] == [2]


def test_documents_and_runs_written_at_once_all_arrive(book: DuckStore) -> None:
    def write(number: int) -> str:
        try:
            book.put_document("prices", f"p-{number % 5}", {"n": number}, source="t", seen=0)
            book.put(frame([run(f"R-{number}", gaps=0)]), source="t")
        except LogbookError as problem:
            return type(problem).__name__
        return "kept"

    with ThreadPoolExecutor(16) as threads:
        said = list(threads.map(write, range(60)))
    assert said.count("kept") == 5
    assert said.count("DocumentChanged") == 55
    assert len(book.documents("prices")) == 5
    assert book.count() == 5


def test_documents_stay_when_the_book_is_opened_again(book: DuckStore, tmp_path: Path) -> None:
    book.put_document("prices", "alder", {"n": 1}, source="form")
    place = book.place
    book.close()
    with open_book(place) as again:
        assert [document.content for document in again.documents("prices")] == [{"n": 1}]
        assert again.known("machine") == ()
