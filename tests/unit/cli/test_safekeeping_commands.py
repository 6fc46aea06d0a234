"""backup, restore and verify as a user meets them."""

from __future__ import annotations

import json
from pathlib import Path

import duckdb
import pytest
from small_shop import RUNS_A_WEEK, WEEKS_BEFORE, small_book
from typer.testing import CliRunner, Result

from logbook.book import export
from logbook.cli.app import application
from logbook.store.opening import FILE_NAME

ALL_RUNS = RUNS_A_WEEK * (WEEKS_BEFORE + 1)


def run(*words: object, book: Path, status: int = 0) -> Result:
    done = CliRunner().invoke(
        application, ["--book", str(book), *map(str, words)], prog_name="logbook"
    )
    assert done.exit_code == status, done.output
    assert "Traceback" not in done.output
    return done


@pytest.fixture
def book(tmp_path: Path) -> Path:
    small_book(tmp_path / "book").close()
    return tmp_path / "book"


def test_backup_restore_verify_in_words(book: Path, tmp_path: Path) -> None:
    archive, new = tmp_path / "book.zip", tmp_path / "new"
    made = run("backup", archive, book=book).stdout
    assert f"{ALL_RUNS} runs with their history" in made
    assert str(archive) in made
    assert "is whole" in run("verify", archive, book=book).stdout
    assert f"Restored {ALL_RUNS} runs" in run("restore", archive, book=new).stdout
    assert f"{ALL_RUNS} runs and 0 earlier versions" in run("verify", book=new).stdout
    for each in (book, new):
        run("export", each.with_suffix(".csv"), book=each)
    assert book.with_suffix(".csv").read_bytes() == new.with_suffix(".csv").read_bytes()


def test_the_same_in_json(book: Path, tmp_path: Path) -> None:
    archive, new = tmp_path / "book.zip", tmp_path / "new"
    made = json.loads(run("backup", archive, "--json", book=book).stdout)
    assert made["runs"] == made["tables"]["runs"] == ALL_RUNS
    assert made["bytes"] == archive.stat().st_size
    checked = json.loads(run("verify", archive, "--json", book=book).stdout)
    assert (checked["whole"], checked["what"], checked["problems"]) == (True, "backup", [])
    restored = json.loads(run("restore", archive, "--json", book=new).stdout)
    assert (restored["book"], restored["runs"], restored["notes"]) == (str(new), ALL_RUNS, [])
    assert json.loads(run("verify", "--json", book=new).stdout)["whole"] is True


def test_the_folder_may_come_from_the_environment(book: Path, tmp_path: Path) -> None:
    run("backup", tmp_path / "book.zip", book=book)
    named = {"LOGBOOK_BOOK": str(tmp_path / "named")}
    done = CliRunner().invoke(application, ["restore", str(tmp_path / "book.zip")], env=named)
    assert done.exit_code == 0, done.output
    assert (tmp_path / "named" / FILE_NAME).exists()


def test_what_is_damaged_is_said_with_what_to_do(book: Path) -> None:
    with duckdb.connect(str(book / FILE_NAME)) as behind:
        behind.execute("UPDATE runs SET gaps = 9 WHERE machine LIKE 'M1%'")
    told = run("verify", book=book, status=1).stdout
    assert "is damaged: something is wrong" in told
    assert "runs are not what was written down: " in told
    assert "What to do: " in told
    assert "restore the last backup" in told
    checked = json.loads(run("verify", "--json", book=book, status=1).stdout)
    assert checked["whole"] is False
    assert checked["problems"][0]["where"] == "runs"
    assert checked["advice"]


def test_a_damaged_archive_is_said_and_not_restored(book: Path, tmp_path: Path) -> None:
    archive = tmp_path / "book.zip"
    run("backup", archive, book=book)
    damaged = bytearray(archive.read_bytes())
    damaged[len(damaged) // 2] ^= 1
    archive.write_bytes(damaged)
    checked = run("verify", archive, book=book, status=1).stdout
    assert "data/runs.parquet: this part is not as it was backed up" in checked
    refused = run("restore", archive, book=tmp_path / "new", status=1)
    said = " ".join(refused.stderr.split())
    assert "is damaged: data/runs.parquet is not as it was backed up. Nothing was" in said
    assert refused.stderr.startswith("error: ")
    assert "\nhint:  restore an earlier backup" in refused.stderr
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("words", [("verify", "no.zip"), ("restore", "no.zip")])
def test_a_file_that_is_not_there(book: Path, tmp_path: Path, words: tuple[str, str]) -> None:
    refused = run(words[0], tmp_path / words[1], "--json", book=tmp_path / "new", status=1)
    assert "There is no file" in json.loads(refused.stdout)["error"]


def test_a_book_that_is_there_is_not_restored_over(book: Path, tmp_path: Path) -> None:
    run("backup", tmp_path / "book.zip", book=book)
    refused = run("restore", tmp_path / "book.zip", book=book, status=1)
    assert "is not an empty folder" in refused.stderr


def test_an_earlier_file_is_named_beside_the_answer(book: Path, tmp_path: Path) -> None:
    archive, sheet = tmp_path / "book.zip", tmp_path / "runs.csv"
    for words, earlier in (
        (("backup", archive), "An earlier backup stood in"),
        (("export", sheet), "An earlier file stood in"),
    ):
        first = run(*words, book=book)
        assert (first.stderr, "replaced" in first.stdout) == ("", False)
        second = run(*words, book=book)
        assert second.stderr.startswith(f"note: {earlier} {words[1]} and was replaced")
        assert second.stdout == first.stdout
        third = run(*words, "--json", book=book)
        [note] = json.loads(third.stdout)["notes"]
        assert third.stderr == f"note: {note}\n"


def test_a_file_that_is_no_backup_is_left_alone(book: Path, tmp_path: Path) -> None:
    sheet = tmp_path / "runs.csv"
    run("export", sheet, book=book)
    before = sheet.read_bytes()
    refused = run("backup", sheet, book=book, status=1)
    assert "was not written over: it is not a backup" in refused.stderr
    assert "replaced" not in refused.output
    assert sheet.read_bytes() == before


def test_an_export_that_fails_leaves_the_earlier_file(
    book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    sheet = tmp_path / "runs.csv"
    sheet.write_text("typed by hand")

    def full(runs: object, path: Path, ending: str) -> None:
        path.write_text("half of")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(export, "_write", full)
    refused = run("export", sheet, book=book, status=1)
    assert "No space left" in refused.stderr
    assert "replaced" not in refused.output
    assert sheet.read_text() == "typed by hand"
    assert sorted(each.name for each in tmp_path.iterdir()) == ["book", "runs.csv"]
