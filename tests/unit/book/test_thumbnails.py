"""Photos on a page: small, few, and what is left out is counted."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from logged_runs import book_of_one
from PIL import Image

from logbook.book import thumbnails as module
from logbook.book.photos import keep_picture, photos_of, picture_of
from logbook.book.thumbnails import MOST_BYTES, MOST_OF_A_RUN, thumbnails_of_runs
from logbook.store.duckdb_store import DuckStore


def photo(seed: int, sort: str = "JPEG") -> bytes:
    noise = np.random.default_rng(seed).integers(0, 255, (900, 1200, 3), dtype=np.uint8)
    drawn = BytesIO()
    Image.fromarray(noise).save(drawn, format=sort)
    return drawn.getvalue()


@pytest.fixture
def store(tmp_path: Path) -> DuckStore:
    return book_of_one(tmp_path / "book")


def test_photos_are_made_small_and_further_ones_are_counted(store: DuckStore) -> None:
    with store:
        for seed in range(MOST_OF_A_RUN + 2):
            keep_picture(
                store, "R-1", picture_of(photo(seed, "PNG" if seed == 1 else "JPEG")), "puckering"
            )
        found = thumbnails_of_runs({"R-1": photos_of(store, "R-1")})
    assert list(found) == ["R-1"]
    assert (len(found["R-1"].shown), found["R-1"].others) == (MOST_OF_A_RUN, 2)
    assert found["R-1"].others_words == "2 more photos not shown here"
    for each in found["R-1"].shown:
        assert len(each) <= MOST_BYTES
        with Image.open(BytesIO(each)) as picture:
            assert (picture.format, picture.size) == ("JPEG", (320, 240))


def test_a_file_that_is_no_picture_is_counted_not_shown(store: DuckStore) -> None:
    with store:
        keep_picture(store, "R-1", picture_of(photo(1)), None)
        photos_of(store, "R-1")[0].write_bytes(b"\xff\xd8\xffnothing")
        found = thumbnails_of_runs({"R-1": photos_of(store, "R-1")})
    assert (found["R-1"].shown, found["R-1"].others_words) == ((), "1 photo not shown here")


def test_all_together_keep_to_their_room(store: DuckStore, monkeypatch: pytest.MonkeyPatch) -> None:
    with store:
        for seed in range(3):
            keep_picture(store, "R-1", picture_of(photo(seed)), None)
        (all_of_them,) = thumbnails_of_runs({"R-1": photos_of(store, "R-1")}).values()
        two = sum(map(len, all_of_them.shown[:2]))
        monkeypatch.setattr(module, "MOST_BYTES_TOGETHER", two)
        (fewer,) = thumbnails_of_runs({"R-1": photos_of(store, "R-1")}).values()
    assert (len(all_of_them.shown), len(fewer.shown), fewer.others) == (3, 2, 1)
