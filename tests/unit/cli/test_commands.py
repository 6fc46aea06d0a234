"""Every command as a user meets it: exit status, what stands where, what is written."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from small_shop import RUNS_A_WEEK, WEEK, WEEKS_BEFORE, small_book
from typer.testing import CliRunner, Result

from logbook.cli.app import application
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD

ALL_RUNS = RUNS_A_WEEK * (WEEKS_BEFORE + 1)
HEADER = "run_ref,finished_at,pieces_inspected,puckering"


def run(*words: str, book: Path | None = None) -> Result:
    place = [] if book is None else ["--book", str(book)]
    return CliRunner().invoke(
        application, [*place, *words], prog_name="logbook", env={"LOGBOOK_BOOK": None}
    )


def answer(*words: str, book: Path | None = None, status: int = 0) -> dict[str, Any]:
    """What ``--json`` answers: one object on one line, and nothing else."""
    done = run(*words, "--json", book=book)
    assert done.exit_code == status, done.output
    assert done.stdout.count("\n") == 1
    said = json.loads(done.stdout)
    assert isinstance(said, dict)
    assert isinstance(said["notes"], list)
    return said


def said(*words: str, book: Path | None = None, status: int = 0) -> Result:
    done = run(*words, book=book)
    assert done.exit_code == status, done.output
    return done


def refused(*words: str, book: Path | None = None) -> str:
    """Standard error of a command that was refused in words, with a hint."""
    done = said(*words, book=book, status=1)
    assert done.stdout == ""
    assert done.stderr.startswith("error: ")
    assert "\nhint:  " in done.stderr
    assert "Traceback" not in done.stderr
    return done.stderr


def misused(*words: str, book: Path | None = None) -> str:
    """Standard error of a command that was used wrongly."""
    done = said(*words, book=book, status=2)
    assert done.stdout == ""
    return done.stderr


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book that no test changes."""
    place = tmp_path_factory.mktemp("commands") / "book"
    small_book(place).close()
    return place


@pytest.fixture
def book(tmp_path: Path) -> Path:
    place = tmp_path / "book"
    said("new", str(place))
    return place


def _sheet(tmp_path: Path, *rows: str, name: str = "sheet.csv") -> Path:
    folder = tmp_path / "in"
    folder.mkdir(exist_ok=True)
    path = folder / name
    path.write_text("\n".join((HEADER, *rows)) + "\n", encoding="utf-8")
    return path


def _exported(book: Path, tmp_path: Path) -> str:
    out = tmp_path / "exported.csv"
    said("export", str(out), book=book)
    return out.read_text(encoding="utf-8-sig")


def test_new_makes_an_empty_book_and_says_how_to_go_on(tmp_path: Path) -> None:
    place = tmp_path / "a [red]book[/]"
    shown = said("new", str(place)).stdout
    assert str(place) in shown
    assert f"logbook --book {place} import" in shown
    assert (place / "shop.toml").is_file()
    assert refused("new", str(place)).startswith("error: There is already a book")


def test_new_answers_with_the_place(tmp_path: Path) -> None:
    assert answer("new", str(tmp_path / "book"))["book"] == str(tmp_path / "book")


def test_a_clean_import_leaves_with_nought(book: Path, tmp_path: Path) -> None:
    sheet = _sheet(tmp_path, "R1,2026-10-05,10,1", "R2,2026-10-06,10,0")
    first = answer("import", str(sheet), book=book)
    assert (first["added"], first["skipped"], first["rejected"]) == (2, 0, 0)
    again = answer("import", str(sheet), book=book)
    assert (again["added"], again["skipped"], again["rejected"]) == (0, 2, 0)
    assert again["files"][0]["file"] == str(sheet)
    assert list(sheet.parent.iterdir()) == [sheet]


def test_rejected_rows_leave_with_three_and_come_in_mended(book: Path, tmp_path: Path) -> None:
    sheet = _sheet(tmp_path, "R1,2026-10-05,10,1", "R2,2026-10-05,10,11")
    shown = said("import", str(sheet), book=book, status=3).stdout
    rejects = sheet.with_name("sheet.rejects.csv")
    assert str(rejects) in shown
    assert "puckering is 11" in shown
    assert answer("import", str(sheet), book=book, status=3)["files"][0]["rejects_file"] == str(
        rejects
    )
    rejects.write_text(rejects.read_text().replace("R2,2026-10-05,10,11", "R2,2026-10-05,10,1"))
    mended = answer("import", str(rejects), book=book)
    assert (mended["added"], mended["rejected"]) == (1, 0)


def test_a_dry_run_writes_nothing(book: Path, tmp_path: Path) -> None:
    sheet = _sheet(tmp_path, "R1,2026-10-05,10,1", "R2,2026-10-05,10,11")
    dry = answer("import", "--dry-run", str(sheet), book=book, status=3)
    assert (dry["added"], dry["rejected"], dry["dry_run"]) == (1, 1, True)
    assert (
        "nothing was written" in said("import", "--dry-run", str(sheet), book=book, status=3).stdout
    )
    assert list(sheet.parent.iterdir()) == [sheet]
    assert answer("import", str(sheet), book=book, status=3)["added"] == 1


def test_a_conflict_is_rejected_unless_amending(book: Path, tmp_path: Path) -> None:
    said("import", str(_sheet(tmp_path, "R1,2026-10-05,10,1")), book=book)
    changed = _sheet(tmp_path, "R1,2026-10-05,10,4", name="changed.csv")
    conflict = answer("import", str(changed), book=book, status=3)
    assert conflict["files"][0]["rejects"][0]["column"] == "run_ref"
    assert "R1,2026-10-05T00:00:00.000000" in _exported(book, tmp_path)
    amended = answer("import", "--amend", str(changed), book=book)
    assert (amended["files"][0]["amended"], amended["rejected"]) == (1, 0)


def test_a_refused_file_leaves_everything_untouched(book: Path, tmp_path: Path) -> None:
    good = _sheet(tmp_path, "R1,2026-10-05,10,1", "R2,2026-10-05,10,11")
    bad = good.with_name("bad.csv")
    bad.write_text("height,width\n1,2\n")
    before = _exported(book, tmp_path)
    words = refused("import", str(good), str(bad), book=book)
    assert "bad.csv is not a run sheet" in words
    assert _exported(book, tmp_path) == before
    assert sorted(path.name for path in good.parent.iterdir()) == ["bad.csv", "sheet.csv"]
    told = answer("import", str(bad), book=book, status=1)
    assert "bad.csv" in told["error"]
    assert told["hint"] in told["notes"]


def test_a_worksheet_is_named_or_refused(book: Path, tmp_path: Path) -> None:
    said("import", str(_sheet(tmp_path, "R1,2026-10-05,10,1")), book=book)
    out = tmp_path / "out.xlsx"
    said("export", str(out), book=book)
    assert answer("import", "--sheet", "Runs", str(out), book=book)["skipped"] == 1
    assert "Sheet9" in refused("import", "--sheet", "Sheet9", str(out), book=book)


def test_a_run_is_added_amended_and_withdrawn(book: Path) -> None:
    values = ("run_ref=R1", "finished_at=2026-10-05 09:30", "pieces-inspected=24", "puckering=2")
    assert "Logged R1" in said("add", *values, book=book).stdout
    assert answer("add", *values, book=book)["skipped"] == 1
    assert "amend R1" in refused("add", *values[:3], "puckering=3", book=book)

    amended = answer("amend", "R1", "puckering=3", "--why", "counted again", book=book)
    assert (amended["run_ref"], amended["held"]) == ("R1", False)
    assert "Amended R1" in said("amend", "R1", "puckering=4", book=book).stdout
    assert "Nothing to change in R1" in said("amend", "R1", "puckering=4", book=book).stdout
    assert "puckering is 25" in refused("amend", "R1", "puckering=25", book=book)
    assert "R9" in refused("amend", "R9", "puckering=1", book=book)

    assert "--why" in misused("withdraw", "R1", book=book)
    gone = answer("withdraw", "R1", "--why", "entered twice", book=book)
    assert gone["withdrawn"] is True
    assert "withdrawn" in refused("amend", "R1", "puckering=1", book=book)
    assert refused("withdraw", "R1", "--why", "again", book=book)


def test_missing_needle_parts_are_told_with_the_caution(book: Path) -> None:
    values = ("run_ref=R1", "pieces_sewn=9", "needle_breaks=1", "needle_parts_found=no")
    shown = " ".join(said("add", *values, book=book).stdout.split())
    assert f"HELD {BROKEN_NEEDLE_HELD}" in shown
    assert answer("amend", "R1", "run_minutes=9", book=book)["held"] is True
    assert answer("amend", "R1", "needle_parts_found=yes", book=book)["held"] is False


@pytest.mark.parametrize("words", ["puckering", "=3", "puckering=1 puckering=2"])
def test_words_that_are_no_pairs_are_wrong_usage(book: Path, words: str) -> None:
    misused("add", "pieces_inspected=9", *words.split(), book=book)
    assert answer("review", book=book)["runs"] == 0


def test_a_name_that_is_no_column_is_refused_with_a_guess(book: Path) -> None:
    assert "did you mean puckering?" in refused(
        "add", "pieces_inspected=9", "pukering=1", book=book
    )


def test_the_review_answers_with_the_contracts_fields(shop: Path) -> None:
    review = answer("review", book=shop)
    assert (review["week"], review["runs"]) == (WEEK, RUNS_A_WEEK)
    assert (review["from"], review["to"]) == ("2026-09-28", "2026-10-04")
    first = review["defects"][0]
    assert first["kind"] == "puckering"
    assert first["rate"] == pytest.approx(first["count"] / first["exposure"])
    lower, upper = first["interval"]
    assert lower < first["rate"] < upper
    events = next(each for each in review["defects"] if each["measure"] == "events")
    assert events["per_100k_stitches"] == pytest.approx(events["rate"] * 100_000)


def test_the_review_says_words_before_figures(shop: Path) -> None:
    review = answer("review", "--week", WEEK, book=shop)
    shown = said("review", "--week", WEEK, book=shop).stdout
    flat = " ".join(shown.split())
    assert flat.index("Puckering") > 0
    assert "More than usual" in flat
    assert "HELD" in flat
    assert [note for note in review["notes"] if note.split()[0] not in flat] == []


def test_the_page_of_a_review_is_written_where_it_was_asked(shop: Path, tmp_path: Path) -> None:
    out = tmp_path / "review.html"
    review = answer("review", "--html", str(out), book=shop)
    page = out.read_text(encoding="utf-8")
    assert page.startswith("<!doctype html>")
    assert review["week"] in page
    assert "<script" not in page
    assert f"The page is in {out}" in said("review", "--html", str(out), book=shop).stdout
    refused("review", "--html", str(tmp_path / "nowhere" / "review.html"), book=shop)


def test_a_text_that_is_no_week_is_refused(shop: Path) -> None:
    assert "2026-99" in refused("review", "--week", "2026-99", book=shop)


@pytest.mark.parametrize(
    ("by", "points"),
    [("run", ALL_RUNS), ("day", 5 * (WEEKS_BEFORE + 1)), ("week", WEEKS_BEFORE + 1), ("month", 5)],
)
def test_a_chart_has_a_point_a_period(shop: Path, by: str, points: int) -> None:
    chart = answer("chart", "--defect", "puckering", "--by", by, book=shop)
    assert (chart["kind"], chart["by"], len(chart["points"])) == ("puckering", by, points)
    for point in chart["points"]:
        assert point["rate"] == pytest.approx(point["count"] / point["exposure"])
        assert point["lower"] <= chart["centre"] <= point["upper"]


def test_a_chart_in_the_terminal_marks_what_stands_out(shop: Path) -> None:
    shown = said("chart", "--defect", "puckering", book=shop).stdout
    [line] = [line for line in shown.splitlines() if line.startswith(WEEK)]
    assert "▲" in line


def test_the_spread_and_the_baseline_are_the_askers(shop: Path) -> None:
    words = ("chart", "--defect", "puckering", "--spread")
    assert answer(*words, "plain", book=shop)["chart"] == "p"
    assert answer(*words, "laney", book=shop)["chart"] == "p_prime"
    based = answer(*words, "plain", "--baseline", "2026-W26..2026-W39", book=shop)
    assert based["baseline"]["to"] == "2026-W39"
    assert based["centre"] == pytest.approx(1.5 / 50)


def test_a_kind_may_be_named_by_its_label(shop: Path) -> None:
    assert answer("chart", "--defect", "Thread breaks", book=shop)["kind"] == "thread_breaks"


def test_a_window_narrows_a_chart(shop: Path) -> None:
    chart = answer(
        "chart", "--defect", "gaps", "--since", "2026-09-21", "--until", "2026-10-04", book=shop
    )
    assert [point["label"] for point in chart["points"]] == ["2026-W39", "2026-W40"]


def test_an_answer_that_cannot_be_given_is_refused_in_words(shop: Path) -> None:
    refused("chart", "--defect", "puckering", "--since", "2031-01-01", book=shop)


def test_suppliers_are_set_against_the_reference(shop: Path) -> None:
    words = ("suppliers", "--defect", "puckering", "--backing", "cutaway", "--reference", "Alder")
    compared = answer(*words, "--margin", "2", book=shop)
    assert (compared["defect"], compared["backing"]) == ("puckering", "cut_away")
    assert (compared["reference"], compared["margin"]) == ("Alder", pytest.approx(0.02))
    rows = {row["supplier"]: row for row in compared["suppliers"]}
    assert set(rows) == {"Alder", "Cedar"}
    for row in rows.values():
        assert row["crude_rate"] == pytest.approx(row["count"] / row["pieces_inspected"])
    # By design every run on Cedar shows one puckered piece more, of fifty.
    difference = rows["Cedar"]["mantel_haenszel"]["risk_difference"]
    assert difference == pytest.approx(1 / 50)
    shown = said(*words, book=shop).stdout
    assert "Alder" in shown
    assert "Cedar" in shown


def test_a_supplier_nobody_bought_from_is_refused(shop: Path) -> None:
    assert "Nobody" in refused("suppliers", "--reference", "Nobody", book=shop)


def test_an_export_comes_in_as_nothing_new(shop: Path, tmp_path: Path) -> None:
    for ending in (".csv", ".xlsx", ".parquet"):
        out = tmp_path / f"out{ending}"
        assert answer("export", str(out), book=shop)["rows"] == ALL_RUNS
        assert answer("import", str(out), book=shop)["skipped"] == ALL_RUNS
    assert f"Wrote {ALL_RUNS} runs to {out}" in said("export", str(out), book=shop).stdout
    assert ".ods" in refused("export", str(tmp_path / "out.ods"), book=shop)


@pytest.mark.parametrize(
    "words",
    [
        ("review", "--since", "2026-01-01"),
        ("review", "--week"),
        ("chart",),
        ("chart", "--defect", "sunshine"),
        ("chart", "--defect", "puckering", "--by", "year"),
        ("chart", "--defect", "puckering", "--since", "yesterday"),
        ("chart", "--defect", "puckering", "--since", "2026-02-01", "--until", "2026-01-01"),
        ("chart", "--defect", "puckering", "--baseline", "2026-W01"),
        ("suppliers", "--backing", "cardboard"),
        ("suppliers", "--margin", "-1"),
        ("import",),
        ("export",),
        ("add",),
        ("serve", "--port", "0"),
        ("embroider",),
    ],
    ids=" ".join,
)
def test_wrong_usage_leaves_with_two_and_changes_nothing(
    shop: Path, words: tuple[str, ...], tmp_path: Path
) -> None:
    assert misused(*words, book=shop)


@pytest.mark.parametrize(
    "words",
    [
        ("review",),
        ("chart", "--defect", "puckering"),
        ("suppliers",),
        ("add", "pieces_inspected=1", "puckering=0"),
        ("amend", "R1", "puckering=0"),
        ("withdraw", "R1", "--why", "x"),
        ("export", "out.csv"),
        ("import", "sheet.csv"),
    ],
    ids=lambda words: words[0],
)
def test_without_a_book_every_command_says_how_to_start_one(
    tmp_path: Path, words: tuple[str, ...]
) -> None:
    nowhere = tmp_path / "no [b]book[/b]"
    assert f"logbook new {nowhere}" in refused(*words, book=nowhere)
    told = answer(*words, book=nowhere, status=1)
    assert str(nowhere) in told["error"]
    assert not nowhere.exists()


def test_a_review_of_an_empty_book_says_so(book: Path) -> None:
    review = answer("review", book=book)
    assert (review["runs"], review["defects"]) == (0, [])
    assert review["headline"] in " ".join(said("review", book=book).stdout.split())


def test_the_book_may_be_named_by_the_environment(shop: Path) -> None:
    done = CliRunner().invoke(application, ["review", "--json"], env={"LOGBOOK_BOOK": str(shop)})
    assert json.loads(done.stdout)["runs"] == RUNS_A_WEEK


def test_the_version_is_told() -> None:
    assert said("--version").stdout.startswith("logbook 0.")
