"""A backup a day: made once, the oldest taken away, and nobody else's file touched."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from logbook.errors import BookReadOnly, IntakeError
from logbook.safekeeping.backups import back_up, sound_manifest
from logbook.safekeeping.daily_backups import backup_if_due, file_name
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

NAME = "hollow-lane"
NOON = datetime(2026, 11, 25, 12)


def _book(place: Path, folder: str = "backups", *, keep: int = 3, zone: str = "UTC") -> DuckStore:
    settings = (
        f'[shop]\nname = "Hollow Lane"\ntimezone = "{zone}"\n'
        f'[backup]\nfolder = "{folder}"\nkeep = {keep}\n'
    )
    return new_book(str(place), settings=settings)


def _names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_nothing_is_made_where_nothing_is_asked_for(tmp_path: Path) -> None:
    with new_book(str(tmp_path / "book")) as store:
        before = _names(tmp_path / "book")
        assert backup_if_due(store, NOON) is None
        assert _names(tmp_path / "book") == before


def test_one_backup_a_day(tmp_path: Path) -> None:
    with _book(tmp_path / "book") as store:
        made = backup_if_due(store, NOON)
        assert made is not None
        path = tmp_path / "book" / "backups" / f"{NAME}-2026-11-25.zip"
        assert made.made.file == str(path)
        assert sound_manifest(path).book.name == "Hollow Lane"
        stamp = path.stat().st_mtime_ns
        assert backup_if_due(store, NOON + timedelta(hours=11)) is None
        assert path.stat().st_mtime_ns == stamp
        assert backup_if_due(store, NOON + timedelta(hours=12)) is not None
    assert _names(path.parent) == [f"{NAME}-2026-11-25.zip", f"{NAME}-2026-11-26.zip"]


def test_the_day_is_the_shops(tmp_path: Path) -> None:
    late = datetime(2026, 11, 25, 23, 30, tzinfo=UTC)
    with _book(tmp_path / "book", zone="Europe/Paris") as store:
        made = backup_if_due(store, late)
    assert made is not None
    assert made.made.file.endswith("2026-11-26.zip")


def test_the_oldest_go_and_strangers_stay(tmp_path: Path) -> None:
    shared = tmp_path / "shared"
    with (
        _book(tmp_path / "book", str(shared), keep=3) as store,
        _book(tmp_path / "other", str(shared)) as other,
    ):
        first = date(2026, 11, 1)
        backup_if_due(store, datetime(2026, 11, 1, 8))
        # Of another book, under this book's name; and others that only look alike.
        back_up(other, shared / f"{NAME}-2026-10-01.zip")
        back_up(store, shared / f"{NAME}-2026-10-01-before-the-move.zip")
        back_up(store, shared / f"{NAME}-2026-13-45.zip")
        back_up(store, shared / "my-own.zip")
        (shared / f"{NAME}-2026-10-02.zip").write_text("not a zip")
        (shared / f"{NAME}-2026-10-03.zip").mkdir()
        strangers = set(_names(shared)) - {f"{NAME}-{first}.zip"}
        removed: list[str] = []
        for day in range(1, 6):
            made = backup_if_due(store, datetime(2026, 11, 1 + day, 8))
            assert made is not None
            removed += made.removed
    ours = {f"{NAME}-2026-11-0{day}.zip" for day in (4, 5, 6)}
    assert set(_names(shared)) == strangers | ours
    assert [Path(each).name for each in removed] == [
        f"{NAME}-2026-11-0{day}.zip" for day in (1, 2, 3)
    ]


def test_the_one_just_made_stays_whatever_the_clock_said_before(tmp_path: Path) -> None:
    with _book(tmp_path / "book", keep=1) as store:
        backup_if_due(store, datetime(2030, 1, 1))
        made = backup_if_due(store, NOON)
    assert made is not None
    assert Path(made.made.file).exists()


def test_a_folder_on_a_disk_that_is_not_there_is_not_made(tmp_path: Path) -> None:
    gone = tmp_path / "stick" / "backups"
    with (
        _book(tmp_path / "book", str(gone)) as store,
        pytest.raises(BookReadOnly, match="cannot be used"),
    ):
        backup_if_due(store, NOON)
    assert not gone.parent.exists()


def test_nothing_is_taken_away_where_todays_cannot_be_made(tmp_path: Path) -> None:
    with _book(tmp_path / "book", keep=1) as store:
        backup_if_due(store, NOON)
        folder = tmp_path / "book" / "backups"
        (folder / f".{NAME}-2026-11-26.zip.part").mkdir()
        with pytest.raises(IntakeError, match="cannot be written"):
            backup_if_due(store, NOON + timedelta(days=1))
    assert f"{NAME}-2026-11-25.zip" in _names(folder)


@pytest.mark.parametrize(
    ("shop", "name"),
    [
        ("Hollow Lane", "hollow-lane"),
        ("Näherei Süd & Co.", "naherei-sud-co"),
        ("../../etc", "etc"),
        ("刺繍", "logbook"),
        ("Our shop", "our-shop"),
    ],
)
def test_file_names_are_plain(shop: str, name: str) -> None:
    assert file_name(shop) == name
