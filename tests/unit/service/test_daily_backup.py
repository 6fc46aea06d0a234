"""The day's backup beside the pages."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import pytest

from logbook.errors import StoreError
from logbook.service import daily_backup
from logbook.store import new_book, open_book


def until(holds: Callable[[], bool]) -> bool:
    """Wait up to ten seconds."""
    end = time.monotonic() + 10
    while not holds() and time.monotonic() < end:
        time.sleep(0.02)
    return holds()


def test_a_backup_is_made_at_the_start_where_the_settings_ask_for_it(tmp_path: Path) -> None:
    folder, backups = tmp_path / "book", tmp_path / "backups"
    new_book(str(folder)).close()
    backups.mkdir()
    with (folder / "shop.toml").open("a", encoding="utf-8") as settings:
        settings.write(f'\n[backup]\nfolder = "{backups}"\nkeep = 3\n')
    said: list[str] = []
    with open_book(str(folder)) as store, daily_backup.backed_up_daily(store, say=said.append):
        assert until(lambda: any(backups.glob("*.zip")))
    assert said == []


def test_without_a_folder_for_backups_nothing_is_made(tmp_path: Path) -> None:
    new_book(str(tmp_path / "book")).close()
    with open_book(str(tmp_path / "book")) as store, daily_backup.backed_up_daily(store, say=print):
        pass
    assert not list(tmp_path.rglob("*.zip"))


def test_a_backup_that_fails_is_told_and_tried_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tries: list[int] = []

    def fails(*_: object) -> None:
        tries.append(1)
        raise StoreError("The disk is full.")

    monkeypatch.setattr(daily_backup, "backup_if_due", fails)
    new_book(str(tmp_path / "book")).close()
    said: list[str] = []
    with (
        open_book(str(tmp_path / "book")) as store,
        daily_backup.backed_up_daily(store, say=said.append, seconds_between=0.01),
    ):
        assert until(lambda: len(tries) > 2)
    assert said[0] == "The day's backup could not be made: The disk is full."
