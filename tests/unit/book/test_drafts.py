from __future__ import annotations

import os
import time
from datetime import datetime
from pathlib import Path

import pytest
from logged_runs import empty_book

from logbook.book.drafts import (
    Draft,
    draft_of,
    drafts_of,
    forget_draft,
    forget_old_drafts,
    keep_draft,
)
from logbook.errors import StoreError
from logbook.store.duckdb_store import DuckStore

MOMENT = datetime(2026, 10, 5, 14, 32)
TYPED = {"pieces_sewn": 24, "notes": "hoop slipped", "sheer": True, "finished_at": MOMENT}


@pytest.fixture
def store(tmp_path: Path) -> DuckStore:
    return empty_book(tmp_path / "book")


def _draft(ref: str = "F-AAAA-2222", device: str | None = "phone", minute: int = 0) -> Draft:
    return Draft(ref, device, TYPED, MOMENT.replace(minute=minute))


def test_a_draft_is_read_back_as_it_was_typed(store: DuckStore) -> None:
    keep_draft(store, _draft())
    found = draft_of(store, "F-AAAA-2222", device="phone")
    assert found == _draft()


def test_it_is_found_on_its_own_device_only(store: DuckStore) -> None:
    keep_draft(store, _draft())
    assert draft_of(store, "F-AAAA-2222", device="other") is None
    assert draft_of(store, "F-AAAA-2222", device=None) is None
    assert drafts_of(store, device="other") == ()


def test_the_device_cannot_be_read_off_the_file(store: DuckStore) -> None:
    keep_draft(store, _draft(device="a-secret-word"))
    assert store.folder is not None
    (path,) = (store.folder / "drafts").iterdir()
    assert "a-secret-word" not in path.read_text(encoding="utf-8")


def test_what_was_not_logged_is_listed_newest_first(store: DuckStore) -> None:
    keep_draft(store, _draft("F-AAAA-2222", minute=1))
    keep_draft(store, _draft("F-BBBB-2222", minute=5))
    keep_draft(store, Draft("F-CCCC-2222", "phone", TYPED, MOMENT, logged=True))
    found = [draft.run_ref for draft in drafts_of(store, device="phone")]
    assert found == ["F-BBBB-2222", "F-AAAA-2222"]


def test_a_newer_draft_takes_the_place_of_the_older_and_can_be_forgotten(store: DuckStore) -> None:
    keep_draft(store, _draft(minute=1))
    keep_draft(store, _draft(minute=2))
    assert len(drafts_of(store, device="phone")) == 1
    forget_draft(store, "F-AAAA-2222")
    forget_draft(store, "F-AAAA-2222")
    assert draft_of(store, "F-AAAA-2222", device="phone") is None


@pytest.mark.parametrize("content", ["", "{", "[]", '{"run_ref": "F-AAAA-2222"}', "null"])
def test_a_damaged_draft_is_as_good_as_none(store: DuckStore, content: str) -> None:
    keep_draft(store, _draft())
    assert store.folder is not None
    (path,) = (store.folder / "drafts").iterdir()
    path.write_text(content, encoding="utf-8")
    assert draft_of(store, "F-AAAA-2222", device="phone") is None
    assert drafts_of(store, device="phone") == ()


@pytest.mark.parametrize("ref", ["../../access", "", "F/../X", "a" * 200, "..", "F-A\x00BB"])
def test_no_reference_leads_out_of_the_folder(store: DuckStore, ref: str) -> None:
    keep_draft(store, _draft(ref))
    assert draft_of(store, ref, device="phone") is None
    assert store.folder is not None
    assert not (store.folder / "drafts").exists()


def test_old_drafts_are_taken_away(store: DuckStore) -> None:
    keep_draft(store, _draft("F-AAAA-2222"))
    keep_draft(store, _draft("F-BBBB-2222"))
    assert store.folder is not None
    old = time.time() - 49 * 3600
    os.utime(store.folder / "drafts" / "F-AAAA-2222.json", (old, old))
    forget_old_drafts(store)
    assert [draft.run_ref for draft in drafts_of(store, device="phone")] == ["F-BBBB-2222"]


def test_a_folder_that_cannot_be_written_is_said(store: DuckStore) -> None:
    assert store.folder is not None
    (store.folder / "drafts").write_text("in the way", encoding="utf-8")
    with pytest.raises(StoreError, match="cannot be kept"):
        keep_draft(store, _draft())


def test_a_power_cut_leaves_the_draft_before_or_the_one_after(
    store: DuckStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What takes the place of a draft is on the disk, all of it, before it does."""
    on_disk: list[str] = []
    put_in_place: list[str] = []
    sync, rename = os.fsync, Path.replace

    def synced(opened: int) -> None:
        sync(opened)
        if (file := Path(f"/proc/self/fd/{opened}")).is_file():
            on_disk.append(file.read_text(encoding="utf-8"))

    def renamed(part: Path, path: Path) -> Path:
        put_in_place.append(part.read_text(encoding="utf-8"))
        assert put_in_place == on_disk
        return rename(part, path)

    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(Path, "replace", renamed)
    keep_draft(store, _draft(minute=1))
    keep_draft(store, _draft(minute=2))
    assert len(put_in_place) == 2
    assert '"pieces_sewn": 24' in put_in_place[1]


def test_a_draft_that_cannot_be_written_leaves_the_one_before(
    store: DuckStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep_draft(store, _draft(minute=1))

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StoreError, match="No space left"):
        keep_draft(store, _draft(minute=2))
    assert draft_of(store, "F-AAAA-2222", device="phone") == _draft(minute=1)
    assert store.folder is not None
    assert [path.name for path in (store.folder / "drafts").iterdir()] == ["F-AAAA-2222.json"]


def test_what_a_killed_service_left_half_written_is_taken_away_when_it_is_old(
    store: DuckStore,
) -> None:
    keep_draft(store, _draft())
    assert store.folder is not None
    half = store.folder / "drafts" / ".F-AAAA-2222.json.0a1b2c3d.part"
    half.write_text('{"run', encoding="utf-8")
    forget_old_drafts(store)
    assert half.exists()
    old = time.time() - 49 * 3600
    os.utime(half, (old, old))
    forget_old_drafts(store)
    assert not half.exists()
    assert draft_of(store, "F-AAAA-2222", device="phone") is not None
