"""Parameters that questions share, read as a book knows them."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.errors import VocabularyError
from logbook.questions.parameters import kind_of
from logbook.store import new_book


def test_kinds_are_found_by_name(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as book:
        assert kind_of(book, "puckering").measure == "pieces"
        assert kind_of(book, "any").name == "any"
        with pytest.raises(VocabularyError):
            kind_of(book, "sunshine")
