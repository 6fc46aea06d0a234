"""Photos beside a draft: of one device, of a known size and number, gone with the draft."""

from __future__ import annotations

import os
import time
import zipfile
from datetime import datetime
from io import BytesIO
from pathlib import Path

import pytest
from logged_runs import book_of_one
from PIL import Image

from logbook.book import draft_photos as module
from logbook.book.draft_photos import (
    MOST_PHOTOS,
    drop_photo,
    hold_again,
    hold_photo,
    photos_of_draft,
    take_over,
)
from logbook.book.drafts import Draft, forget_draft, forget_old_drafts, keep_draft
from logbook.book.photos import LARGEST_BYTES, photos_of
from logbook.errors import IntakeError
from logbook.safekeeping.backups import back_up, restore
from logbook.safekeeping.verifying import verify_book
from logbook.store import open_book
from logbook.store.duckdb_store import DuckStore

REF, OTHER = "F-AAAA-2222", "F-BBBB-2222"
MOMENT = datetime(2026, 10, 5, 14, 32)
ORIENTATION, MAKER = 0x0112, 0x010F


def _draft(ref: str = REF, device: str | None = "phone") -> Draft:
    return Draft(ref, device, {"pieces_sewn": 24}, MOMENT)


@pytest.fixture
def store(tmp_path: Path) -> DuckStore:
    book = book_of_one(tmp_path / "book")
    keep_draft(book, _draft())
    return book


def _photo(red: int = 180, **how: object) -> bytes:
    drawn = BytesIO()
    Image.new("RGB", (2400, 1200), (red, 40, 40)).save(drawn, format="JPEG", **how)
    return drawn.getvalue()


def _hold(store: DuckStore, red: int = 180, ref: str = REF) -> Path:
    return hold_photo(store, ref, _photo(red), device="phone")


def _drafts(store: DuckStore) -> Path:
    assert store.folder is not None
    return store.folder / "drafts"


def test_photos_are_held_in_the_order_they_came_and_once_each(store: DuckStore) -> None:
    paths = [_hold(store, red) for red in (200, 100, 150, 100)]
    assert photos_of_draft(store, REF, device="phone") == (paths[0], paths[2], paths[1])
    assert {path.parent for path in paths} == {_drafts(store) / REF}


def test_nothing_but_the_picture_is_held_and_it_stands_upright(store: DuckStore) -> None:
    told = Image.Exif()
    told[ORIENTATION], told[MAKER] = 6, "A camera"
    path = hold_photo(store, REF, _photo(exif=told.tobytes()), device="phone")
    assert b"A camera" not in path.read_bytes()
    with Image.open(path) as held:
        assert held.size == (800, 1600)


def test_another_device_neither_finds_them_nor_adds_to_them(store: DuckStore) -> None:
    path = _hold(store)
    assert photos_of_draft(store, REF, device="other") == ()
    assert photos_of_draft(store, REF, device=None) == ()
    drop_photo(store, REF, path.name, device="other")
    with pytest.raises(IntakeError, match="not kept"):
        hold_photo(store, REF, _photo(90), device="other")
    assert photos_of_draft(store, REF, device="phone") == (path,)


@pytest.mark.parametrize(
    "content",
    [b"", b"GIF89a", _photo()[:200], b"\xff\xd8\xff" + bytes(LARGEST_BYTES)],
    ids=["empty", "gif", "broken off", "too large"],
)
def test_what_is_no_photo_is_refused(store: DuckStore, content: bytes) -> None:
    with pytest.raises(IntakeError):
        hold_photo(store, REF, content, device="phone")
    assert not (_drafts(store) / REF).exists()


def test_so_many_are_held_and_no_more(store: DuckStore) -> None:
    first = _hold(store, 0)
    for red in range(1, MOST_PHOTOS):
        _hold(store, 20 * red)
    with pytest.raises(IntakeError, match=f"at most {MOST_PHOTOS} photos"):
        _hold(store, 255)
    assert _hold(store, 0) == first  # one that is there already is none too many
    drop_photo(store, REF, first.name, device="phone")
    _hold(store, 255)
    assert len(photos_of_draft(store, REF, device="phone")) == MOST_PHOTOS


def test_so_many_bytes_are_held_and_no_more(
    store: DuckStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    size = _hold(store, 0).stat().st_size
    monkeypatch.setattr(module, "MOST_BYTES", 2 * size - 1)
    with pytest.raises(IntakeError, match="MB"):
        _hold(store, 10)
    assert len(photos_of_draft(store, REF, device="phone")) == 1


@pytest.mark.parametrize("ref", ["../../photos", "..", "", "F/../X", "F-A\x00BB"])
def test_no_reference_leads_out_of_the_folder(store: DuckStore, ref: str) -> None:
    with pytest.raises(IntakeError):
        hold_photo(store, ref, _photo(), device="phone")
    assert photos_of_draft(store, ref, device="phone") == ()
    assert [path.name for path in _drafts(store).iterdir()] == [f"{REF}.json"]


@pytest.mark.parametrize("name", ["../F-AAAA-2222.json", "../../shop.toml", "", "."])
def test_no_name_of_a_photo_leads_out_of_the_folder(store: DuckStore, name: str) -> None:
    _hold(store)
    drop_photo(store, REF, name, device="phone")
    assert (_drafts(store) / f"{REF}.json").exists()
    assert (_drafts(store).parent / "shop.toml").exists()
    assert len(photos_of_draft(store, REF, device="phone")) == 1


def test_a_folder_that_leads_elsewhere_is_neither_read_nor_written_nor_emptied(
    store: DuckStore, tmp_path: Path
) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "0123456789abcdef.jpg").write_bytes(_photo())
    (_drafts(store) / REF).symlink_to(elsewhere)
    assert photos_of_draft(store, REF, device="phone") == ()
    with pytest.raises(IntakeError):
        _hold(store)
    forget_draft(store, REF)
    assert [path.name for path in elsewhere.iterdir()] == ["0123456789abcdef.jpg"]


def test_other_files_among_them_are_not_photos(store: DuckStore) -> None:
    path = _hold(store)
    (path.parent / f".{path.name}.part").write_bytes(b"half")
    (path.parent / "notes.jpg").write_bytes(_photo())
    assert photos_of_draft(store, REF, device="phone") == (path,)


def test_a_logged_run_takes_them_over_as_they_are(store: DuckStore) -> None:
    held = [_hold(store, red) for red in (200, 100)]
    before = [path.read_bytes() for path in held]
    assert take_over(store, _draft(), "puckering") == 2
    kept = photos_of(store, REF)
    assert [path.name for path in kept] == [path.name for path in held]
    assert [path.read_bytes() for path in kept] == before
    kinds = [document.content["kind"] for document in store.documents("photos", about=REF)]
    assert kinds == ["puckering", "puckering"]
    assert photos_of_draft(store, REF, device="phone") == ()
    assert take_over(store, _draft(), "puckering") == 0


def test_a_photo_that_cannot_be_taken_over_stays_and_is_taken_over_later(
    store: DuckStore,
) -> None:
    _hold(store)
    assert store.folder is not None
    photos = store.folder / "photos"
    photos.rmdir()
    photos.write_text("in the way", encoding="utf-8")
    with pytest.raises(IntakeError, match="cannot be made"):
        take_over(store, _draft(), None)
    assert len(photos_of_draft(store, REF, device="phone")) == 1
    photos.unlink()
    take_over(store, _draft(), None)
    assert len(photos_of(store, REF)) == 1


def _stuck(monkeypatch: pytest.MonkeyPatch) -> None:
    """No photo of a draft can be taken away, as in a folder that another user owns."""

    plain = Path.unlink

    def refused(path: Path, missing_ok: bool = False) -> None:
        if path.parent.name == REF:
            raise PermissionError(13, "Permission denied")
        plain(path, missing_ok=missing_ok)

    monkeypatch.setattr(Path, "unlink", refused)


def test_a_photo_that_cannot_be_taken_away_is_said_and_is_with_its_run_once(
    store: DuckStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = _hold(store)
    with monkeypatch.context() as stuck:
        _stuck(stuck)
        with pytest.raises(IntakeError, match="cannot be taken away: Permission denied"):
            take_over(store, _draft(), None)
        with pytest.raises(IntakeError, match="cannot be taken away: Permission denied"):
            drop_photo(store, REF, path.name, device="phone")
    assert take_over(store, _draft(), None) == 1
    assert len(photos_of(store, REF)) == 1
    assert len(store.documents("photos", about=REF)) == 1
    assert photos_of_draft(store, REF, device="phone") == ()


@pytest.mark.parametrize("looked_at", [1, 2])
def test_a_photo_that_another_window_takes_away_meanwhile_is_in_nobodys_way(
    store: DuckStore, monkeypatch: pytest.MonkeyPatch, looked_at: int
) -> None:
    other = _hold(store, 200)
    plain, looks = Path.stat, []

    def gone(path: Path, *, follow_symlinks: bool = True) -> os.stat_result:
        if path == other and follow_symlinks:
            looks.append(path)
            if len(looks) == looked_at:
                path.unlink()
        return plain(path, follow_symlinks=follow_symlinks)

    with monkeypatch.context() as racing:
        racing.setattr(Path, "stat", gone)
        path = _hold(store, 100)
    assert len(looks) >= looked_at
    assert photos_of_draft(store, REF, device="phone") == (path,)


def test_a_folder_that_goes_while_it_is_read_holds_no_photos(
    store: DuckStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = _hold(store)
    plain = Path.is_dir

    def gone(folder: Path) -> bool:
        there = plain(folder)
        if folder == path.parent:
            path.unlink()
            folder.rmdir()
        return there

    with monkeypatch.context() as racing:
        racing.setattr(Path, "is_dir", gone)
        assert photos_of_draft(store, REF, device="phone") == ()


def test_photos_come_along_to_another_run_typed_in_its_stead(store: DuckStore) -> None:
    path = _hold(store)
    take_over(store, _draft(), None)
    keep_draft(store, _draft(OTHER))
    hold_again(store, photos_of(store, REF), OTHER, device="phone")
    (again,) = photos_of_draft(store, OTHER, device="phone")
    assert again.name == path.name
    assert len(photos_of(store, REF)) == 1


def test_they_are_forgotten_with_their_draft(store: DuckStore) -> None:
    _hold(store)
    forget_draft(store, REF)
    assert list(_drafts(store).iterdir()) == []


def test_they_grow_old_with_their_draft_alone(store: DuckStore) -> None:
    keep_draft(store, _draft(OTHER))
    fresh, stale = _hold(store), _hold(store, ref=OTHER)
    old = time.time() - 49 * 3600
    for path in (fresh, fresh.parent, stale.parent.with_suffix(".json")):
        os.utime(path, (old, old))
    forget_old_drafts(store)
    assert photos_of_draft(store, REF, device="phone") == (fresh,)
    assert not stale.parent.exists()


def test_photos_whose_draft_has_gone_are_taken_away_when_they_are_old(store: DuckStore) -> None:
    path = _hold(store)
    path.parent.with_suffix(".json").unlink()
    assert photos_of_draft(store, REF, device="phone") == ()
    forget_old_drafts(store)
    assert path.exists()
    old = time.time() - 49 * 3600
    os.utime(path.parent, (old, old))
    forget_old_drafts(store)
    assert not path.parent.exists()


def test_no_backup_holds_them_and_none_is_disturbed(store: DuckStore, tmp_path: Path) -> None:
    _hold(store)
    back_up(store, tmp_path / "book.zip")
    with zipfile.ZipFile(tmp_path / "book.zip") as archive:
        assert not [name for name in archive.namelist() if "draft" in name or "jpg" in name]
    assert verify_book(store, against=tmp_path / "book.zip").whole
    assert len(photos_of_draft(store, REF, device="phone")) == 1
    restore(tmp_path / "book.zip", str(tmp_path / "again"))
    with open_book(str(tmp_path / "again")) as again:
        assert again.count() == 1
        assert photos_of_draft(again, REF, device="phone") == ()
