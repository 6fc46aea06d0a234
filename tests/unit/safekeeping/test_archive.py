"""Not one byte of an archive changes unseen, and no archive writes outside its folder."""

from __future__ import annotations

import hashlib
import io
import json
import random
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import lived_in_book
import pytest

from logbook.errors import BookNewer, LogbookError, NotABackup, StoreError
from logbook.safekeeping.archive import damage_of, read_manifest, safe_parts
from logbook.safekeeping.backups import back_up, restore
from logbook.safekeeping.verifying import verify_backup
from logbook.store.migrations import NEWEST

FLIPS = 400


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    place = tmp_path_factory.mktemp("archive")
    sheet = lived_in_book.write_sheet(place / "sheet.csv")
    with lived_in_book.lived_in_book(place / "book", sheet) as store:
        back_up(store, place / "book.zip")
    return (place / "book.zip").read_bytes()


def _found(path: Path) -> bool:
    """Whether the damage is found, as a finding or as an error in words."""
    try:
        return bool(damage_of(path, read_manifest(path)))
    except LogbookError as problem:
        return problem.hint is not None


def _rebuilt(whole: bytes, change: Callable[[dict[str, Any], dict[str, bytes]], None]) -> bytes:
    """The archive with its manifest or members changed, and sealed anew by someone who can."""
    with zipfile.ZipFile(io.BytesIO(whole)) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
        comment = archive.comment
    manifest = json.loads(members.pop("manifest.json"))
    change(manifest, members)
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        archive.comment = comment
        for name, content in members.items():
            archive.writestr(zipfile.ZipInfo(name), content)
        archive.writestr("manifest.json", json.dumps(manifest))
    data = made.getvalue()[:-64]
    return data + hashlib.sha256(data).hexdigest().encode()


def test_the_archive_is_an_ordinary_zip(whole: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(whole)) as archive:
        assert archive.testzip() is None
        assert archive.read("photos/2026/näht 1.jpg") == lived_in_book.PHOTO
        assert archive.read("shop.toml").decode() == lived_in_book.SETTINGS


def test_every_flipped_byte_is_found(whole: bytes, tmp_path: Path) -> None:
    chance = random.Random()
    seed = chance.getrandbits(32)
    chance.seed(seed)
    path = tmp_path / "flipped.zip"
    # Every byte of the ends, where the zip keeps its lists, and many within.
    places = [chance.randrange(len(whole)) for _ in range(FLIPS)]
    places += [*range(80), *range(len(whole) - 300, len(whole))]
    for place in places:
        damaged = bytearray(whole)
        damaged[place] ^= 1 << chance.randrange(8)
        path.write_bytes(damaged)
        assert _found(path), (seed, place)
    path.write_bytes(whole)
    assert not _found(path)


@pytest.mark.parametrize("kept", [0, 1, 21, 22, 100, 0.5, 0.9, -1, -64, -86])
def test_a_file_cut_short_is_found(whole: bytes, tmp_path: Path, kept: float) -> None:
    path = tmp_path / "cut.zip"
    path.write_bytes(whole[: int(kept * len(whole)) if 0 < kept < 1 else int(kept)])
    assert _found(path)
    with pytest.raises(NotABackup):
        restore(path, str(tmp_path / "book"))
    assert list(tmp_path.iterdir()) == [path]


def test_bytes_before_and_behind_are_found(whole: bytes, tmp_path: Path) -> None:
    path = tmp_path / "longer.zip"
    for longer in (b"x" + whole, whole + b"x", whole + whole):
        path.write_bytes(longer)
        assert _found(path)


def test_the_damaged_member_is_named_and_nothing_is_restored(whole: bytes, tmp_path: Path) -> None:
    damaged = bytearray(whole)
    damaged[whole.index(lived_in_book.PHOTO) + 100] ^= 8
    path = tmp_path / "damaged.zip"
    path.write_bytes(damaged)
    [problem] = verify_backup(path).problems
    assert problem.where == "photos/2026/näht 1.jpg"
    with pytest.raises(NotABackup, match=r"näht 1\.jpg.*Nothing was restored"):
        restore(path, str(tmp_path / "book"))
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize(
    "name",
    [
        "../outside.txt",
        "photos/../../outside.txt",
        "/tmp/outside.txt",
        "photos//x.jpg",
        "photos/./x.jpg",
        "photos\\..\\x.jpg",
        "C:/x.jpg",
        "photos/C:x.jpg",
        "photos/x\x00.jpg",
        "photos",
        "logbook.duckdb",
        "data/../shop.toml",
        "data/Runs.parquet",
        "data/deep/runs.parquet",
        "",
        ".",
        "..",
    ],
)
def test_a_member_that_leaves_the_folder_is_refused(
    whole: bytes, tmp_path: Path, name: str
) -> None:
    with pytest.raises(NotABackup, match="does not belong"):
        safe_parts(name)
    content = b"outside"

    def put_in(manifest: dict[str, Any], members: dict[str, bytes]) -> None:
        members[name] = content
        digest = hashlib.sha256(content).hexdigest()
        manifest["members"].append({"name": name, "bytes": len(content), "sha256": digest})

    folder = tmp_path / "in"
    folder.mkdir()
    path = folder / "crafted.zip"
    path.write_bytes(_rebuilt(whole, put_in))
    with pytest.raises(NotABackup):
        restore(path, str(tmp_path / "in" / "book"))
    assert list(tmp_path.rglob("*")) == [folder, path]


def test_a_member_that_is_not_listed_is_found(whole: bytes, tmp_path: Path) -> None:
    path = tmp_path / "more.zip"

    def put_in(manifest: dict[str, Any], members: dict[str, bytes]) -> None:
        members["photos/extra.jpg"] = b"x"

    path.write_bytes(_rebuilt(whole, put_in))
    [(where, says)] = damage_of(path, read_manifest(path))
    assert (where, says) == ("photos/extra.jpg", "is in the archive, but not in its list")


def test_a_member_that_is_gone_is_found(whole: bytes, tmp_path: Path) -> None:
    path = tmp_path / "less.zip"
    path.write_bytes(_rebuilt(whole, lambda _, members: members.pop("shop.toml") and None))
    assert damage_of(path, read_manifest(path)) == (("shop.toml", "is missing"),)


def test_an_archive_of_a_newer_schema_is_checked_but_not_restored(
    whole: bytes, tmp_path: Path
) -> None:
    path = tmp_path / "newer.zip"
    path.write_bytes(_rebuilt(whole, lambda said, _: said.update(schema_version=NEWEST + 1)))
    checked = verify_backup(path)
    assert checked.whole
    assert "newer version" in checked.notes[0]
    with pytest.raises(BookNewer, match=f"step {NEWEST + 1}.*knows {NEWEST}"):
        restore(path, str(tmp_path / "book"))
    path.write_bytes(_rebuilt(whole, lambda said, _: said.update(format_version=2)))
    with pytest.raises(BookNewer):
        verify_backup(path)
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize(
    "change",
    [
        lambda said: said.update(format="something else"),
        lambda said: said.update(format_version=True),
        lambda said: said.update(made_at="yesterday"),
        lambda said: said.update(made_at="2026-10-01T10:00:00"),
        lambda said: said.update(members="all"),
        lambda said: said.update(tables=[]),
        lambda said: said["tables"].update(runs=-1),
        lambda said: said["members"][0].update(sha256="abc"),
        lambda said: said["members"][0].update(bytes="many"),
        lambda said: said.pop("book"),
    ],
)
def test_a_manifest_that_makes_no_sense_is_no_backup(
    whole: bytes, tmp_path: Path, change: Callable[[dict[str, Any]], None]
) -> None:
    path = tmp_path / "odd.zip"
    path.write_bytes(_rebuilt(whole, lambda said, _: change(said)))
    with pytest.raises(NotABackup, match="not a backup of a book, or it is damaged"):
        verify_backup(path)


def test_rows_other_than_told_are_not_restored(whole: bytes, tmp_path: Path) -> None:
    path = tmp_path / "odd.zip"
    path.write_bytes(_rebuilt(whole, lambda said, _: said["tables"].update(runs=99)))
    with pytest.raises(NotABackup, match="other numbers of rows"):
        restore(path, str(tmp_path / "book"))
    assert list(tmp_path.iterdir()) == [path]


def test_tables_of_something_else_are_not_restored(whole: bytes, tmp_path: Path) -> None:
    def swap(manifest: dict[str, Any], members: dict[str, bytes]) -> None:
        for member in manifest["members"]:
            if member["name"] == "data/runs.parquet":
                content = members["data/run_history.parquet"]
                members["data/runs.parquet"] = content
                member.update(bytes=len(content), sha256=hashlib.sha256(content).hexdigest())

    path = tmp_path / "odd.zip"
    path.write_bytes(_rebuilt(whole, swap))
    with pytest.raises(StoreError):
        restore(path, str(tmp_path / "book"))
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("content", [b"", b"run_ref;gaps\n1;2\n", b"PK\x03\x04" + b"x" * 500])
def test_other_files_are_no_backups(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "file.zip"
    path.write_bytes(content)
    for use in (verify_backup, lambda path: restore(path, str(tmp_path / "book"))):
        with pytest.raises(NotABackup, match="not a backup"):
            use(path)
    with pytest.raises(NotABackup, match="There is no file"):
        verify_backup(tmp_path / "nothing.zip")
    with pytest.raises(NotABackup, match="is a folder"):
        verify_backup(tmp_path)
