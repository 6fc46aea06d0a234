"""Commands that find runs again: by any column, and all that something touched."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from logbook.cli.app import application

COMMON = ("finished_at=2026-10-05T09:00", "pieces_sewn=24", "needle_breaks=1", "job=J1")
FIRST = ("backing_lot=A2431", "speed_spm=780", "puckering=2", "needle_parts_found=no")


def run(*words: str, book: Path, status: int = 0) -> Result:
    done = CliRunner().invoke(application, ["--book", str(book), *words], prog_name="logbook")
    assert done.exit_code == status, done.output
    return done


def answer(*words: str, book: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(run(*words, "--json", book=book).stdout)
    return found


@pytest.fixture
def book(tmp_path: Path) -> Path:
    place = tmp_path / "book"
    run("new", str(place), book=place)
    run("add", "run_ref=R-1", *COMMON, *FIRST, "customer=Tarn", book=place)
    run("add", "run_ref=R-2", *COMMON, "needle_parts_found=yes", "puckering=1", book=place)
    return place


def test_runs_are_found_by_any_column(book: Path) -> None:
    def found(*words: str) -> list[str]:
        return [each["run_ref"] for each in answer("runs", *words, book=book)["runs"]]

    assert found() == ["R-2", "R-1"]
    for words in (
        ["backing_lot=a2431"],
        ["speed_spm=780", "puckering=2"],
        ["speed_band=brisk"],
        ["--held"],
        ["--find", "2431"],
        ["run_ref=R-1", "week=2026-W41", "--since", "2026-10-05"],
    ):
        assert found(*words) == ["R-1"], words
    assert found("--showing", "puckering") == ["R-2", "R-1"]
    assert found("backing_lot=not recorded") == ["R-2"]
    assert found("week=2026-W40") == []
    limited = answer("runs", "--limit", "1", book=book)
    assert (limited["more"], len(limited["runs"])) == (True, 1)
    shown = run("runs", "--held", book=book).stdout
    assert "R-1" in shown
    assert "Puckering 2" in shown
    assert "No run matches." in run("runs", "machine=M9", book=book).stdout
    refused = run("runs", "notes=x", book=book, status=1)
    assert "cannot be filtered by 'notes'" in refused.stderr


def test_a_trace_is_told_printed_and_exported(book: Path, tmp_path: Path) -> None:
    page, sheet = tmp_path / "recall.html", tmp_path / "recall.csv"
    traced = answer(
        "trace", "backing_lot=a2431", "--html", str(page), "--export", str(sheet), book=book
    )
    assert traced["of"] == {"backing_lot": "A2431"}
    assert [each["run_ref"] for each in traced["runs"]] == ["R-1"]
    assert (traced["jobs"], traced["customers"], traced["held"]) == (["J1"], ["Tarn"], ["R-1"])
    assert (traced["pieces_sewn"], traced["pieces_inspected"]) == (24, 24)
    kinds = {each["kind"]: each for each in traced["kinds"]}
    assert kinds["puckering"]["observed"] == 2
    assert kinds["puckering"]["expected"] == pytest.approx(1.0, rel=0.2)
    assert "A2431 touched 1 run, 1 job, 1 customer and 24 pieces" in page.read_text("utf-8")
    again = answer("import", str(sheet), book=book)
    assert (again["added"], again["skipped"]) == (0, 1)
    shown = run("trace", "machine=not recorded", book=book).stdout
    assert "touched 2 runs" in shown
    assert "No run has" in run("trace", "machine=M9", book=book).stdout
    refused = run("trace", "colour=red", book=book, status=2).stderr
    assert "cannot be filtered by 'colour'" in " ".join(refused.split())
