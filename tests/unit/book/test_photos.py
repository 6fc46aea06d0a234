from __future__ import annotations

from io import BytesIO
from pathlib import Path

import pytest
from logged_runs import book_of_one
from PIL import Image

from logbook.book.photos import LARGEST_BYTES, keep_picture, photos_of, picture_of
from logbook.errors import IntakeError
from logbook.store.duckdb_store import DuckStore

GPS, ORIENTATION, MAKER = 0x8825, 0x0112, 0x010F


@pytest.fixture
def store(tmp_path: Path) -> DuckStore:
    return book_of_one(tmp_path / "book")


def _photo(format_: str = "JPEG", size: tuple[int, int] = (2400, 1200), **how: object) -> bytes:
    picture = Image.new("RGB", size, (180, 40, 40))
    picture.putpixel((0, 0), (0, 0, 0))
    drawn = BytesIO()
    picture.save(drawn, format=format_, **how)
    return drawn.getvalue()


@pytest.mark.parametrize(("format_", "ending"), [("JPEG", "jpg"), ("PNG", "png"), ("WEBP", "webp")])
def test_a_photo_is_kept_small_beside_its_run(store: DuckStore, format_: str, ending: str) -> None:
    place = keep_picture(store, "R-1", picture_of(_photo(format_)), "puckering")
    (path,) = photos_of(store, "R-1")
    assert store.folder is not None
    assert path == store.folder / place
    assert path.suffix == f".{ending}"
    with Image.open(path) as kept:
        assert kept.size == (1600, 800)
    (document,) = store.documents("photos", about="R-1")
    assert document.content == {"kind": "puckering", "place": place}
    assert photos_of(store, "R-2") == ()


def test_nothing_but_the_picture_is_kept_and_it_stands_upright(store: DuckStore) -> None:
    told = Image.Exif()
    told[ORIENTATION], told[MAKER] = 6, "A camera"
    told.get_ifd(GPS)[2] = (52.0, 22.0, 1.0)
    sent = _photo(exif=told.tobytes())
    assert b"A camera" in sent
    keep_picture(store, "R-1", picture_of(sent), None)
    (path,) = photos_of(store, "R-1")
    assert b"A camera" not in path.read_bytes()
    with Image.open(path) as kept:
        assert dict(kept.getexif()) == {}
        assert kept.size == (800, 1600)


def test_the_same_photo_twice_is_one(store: DuckStore) -> None:
    assert keep_picture(store, "R-1", picture_of(_photo()), None) == keep_picture(
        store, "R-1", picture_of(_photo()), None
    )
    assert len(photos_of(store, "R-1")) == 1


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"GIF89a",
        b"<svg onload='act()'>",
        b"\xff\xd8\xff" + b"no picture" * 9,
        _photo()[:200],
        b"\x89PNG\r\n\x1a\n",
        b"\xff\xd8\xff" + bytes(LARGEST_BYTES),
    ],
    ids=["empty", "gif", "svg", "not jpeg", "broken off", "empty png", "too large"],
)
def test_what_is_no_photo_is_refused_whole(store: DuckStore, content: bytes) -> None:
    with pytest.raises(IntakeError):
        keep_picture(store, "R-1", picture_of(content), None)
    assert photos_of(store, "R-1") == ()


@pytest.mark.parametrize("ref", ["../../elsewhere", "a/b", "ü" * 90])
def test_no_reference_leads_out_of_the_folder(store: DuckStore, ref: str) -> None:
    keep_picture(store, ref, picture_of(_photo()), None)
    (path,) = photos_of(store, ref)
    assert store.folder is not None
    assert path.parent.parent == store.folder / "photos"


def test_a_picture_that_unfolds_into_too_many_pixels_is_refused(store: DuckStore) -> None:
    with pytest.raises(IntakeError, match="pixels"):
        keep_picture(store, "R-1", picture_of(_photo("PNG", (10_000, 6_001))), None)
