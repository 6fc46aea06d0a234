"""Putting, amending and withdrawing runs: what is added, skipped, kept and told."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import polars as pl
import pytest
from run_frames import MONDAY, frame, many, run

from logbook.errors import RunConflict, RunNotFound, StoreError
from logbook.runs.columns import run_schema
from logbook.store import Stored, new_book, open_book
from logbook.store.history import HISTORY_ROWS
from logbook.store.run_changes import CHUNK_ROWS

OWN = """
[[defect_kind]]
name = "loose_ends"

[[defect_kind]]
name = "hook_cleanings"
measure = "events"
"""


def test_new_runs_are_added_and_the_same_again_skipped(book) -> None:
    sheet = frame([run("R-1"), run("R-2", gaps=None), run("R-3", notes="")])
    assert book.put(sheet, source="a.csv") == Stored(added=3, skipped=0, amended=0)
    assert book.put(sheet, source="b.csv") == Stored(added=0, skipped=3, amended=0)
    assert book.put(sheet, source="b.csv", amend=True) == Stored(added=0, skipped=3, amended=0)
    assert book.count() == 3
    assert [len(book.history(name)) for name in ("R-1", "R-2", "R-3")] == [1, 1, 1]


def test_other_content_under_a_known_reference_is_a_conflict(book) -> None:
    book.put(frame([run("R-1"), run("R-2")]), source="a.csv")
    sheet = frame([run("R-3"), run("R-2", gaps=2), run("R-1"), run("R-1", gaps=9)])
    stored = book.put(sheet, source="b.csv")
    assert stored == Stored(added=1, skipped=1, amended=0, conflicts=(1, 3))
    assert book.runs()["gaps"].to_list() == [1, 1, 1]
    assert book.history("R-2")[-1].what == "logged"


def test_amending_by_a_sheet_keeps_the_version_before(book) -> None:
    book.put(frame([run("R-1", operator="Ines")]), source="a.csv")
    stored = book.put(frame([run("R-1", gaps=4), run("R-2")]), source="b.csv", amend=True)
    assert stored == Stored(added=1, skipped=0, amended=1)
    assert book.runs(refs=["R-1"]).row(0, named=True)["gaps"] == 4
    first, second = book.history("R-1")
    assert (first.version, first.what, first.source) == (1, "logged", "a.csv")
    assert first.content["gaps"] == 1
    assert first.content["operator"] == "Ines"
    assert (second.version, second.what, second.source) == (2, "amended", "b.csv")
    assert second.content["gaps"] == 4
    assert "operator" not in second.content


def test_what_an_earlier_version_said_is_not_news(book) -> None:
    old = frame([run("R-1")])
    book.put(old, source="a.csv")
    book.put(frame([run("R-1", gaps=4)]), source="b.csv", amend=True)
    assert book.put(old, source="a.csv") == Stored(added=0, skipped=1, amended=0)
    assert book.runs()["gaps"].item() == 4
    # With amend the older content is meant, and becomes a version of its own.
    assert book.put(old, source="a.csv", amend=True) == Stored(added=0, skipped=0, amended=1)
    assert book.runs()["gaps"].item() == 1
    assert [change.content["gaps"] for change in book.history("R-1")] == [1, 4, 1]
    assert [change.version for change in book.history("R-1")] == [1, 2, 3]


def test_many_earlier_versions_with_the_same_content_are_one_skip(book) -> None:
    for gaps in (1, 2, 1, 2, 1, 3):
        book.put(frame([run("R-1", gaps=gaps)]), source="a.csv", amend=True)
    assert book.put(frame([run("R-1", gaps=2)]), source="a.csv") == Stored(0, 1, 0)
    assert book.put(frame([run("R-1", gaps=5)]), source="a.csv") == Stored(0, 0, 0, (0,))
    assert [change.content["gaps"] for change in book.history("R-1")] == [1, 2, 1, 2, 1, 3]


@pytest.mark.parametrize("amend", [False, True])
def test_a_withdrawn_run_is_never_brought_back(book, amend: bool) -> None:
    book.put(frame([run("R-1"), run("R-2")]), source="a.csv")
    book.withdraw("R-1", why="logged twice", source="office")
    stored = book.put(frame([run("R-1"), run("R-1", gaps=7)]), source="a.csv", amend=amend)
    assert stored == Stored(added=0, skipped=1, amended=0, conflicts=(1,))
    assert book.put(frame([run("R-1", gaps=7)]), source="a.csv", amend=amend).conflicts == (0,)
    assert book.runs()["run_ref"].to_list() == ["R-2"]
    assert book.count() == 1
    assert book.cells(["gaps"])["count"].item() == 1
    logged, withdrawn = book.history("R-1")
    assert (logged.what, withdrawn.what) == ("logged", "withdrawn")
    assert (withdrawn.why, withdrawn.source, withdrawn.version) == ("logged twice", "office", 2)
    assert withdrawn.content == logged.content
    with pytest.raises(RunConflict, match="withdrawn"):
        book.amend("R-1", frame([run("R-1", gaps=2)]), why=None, source="office")
    with pytest.raises(RunConflict):
        book.withdraw("R-1", why="again", source="office")


def test_twins_within_one_frame(book) -> None:
    sheet = frame([run("R-1"), run("R-1"), run("R-1", gaps=2), run("R-2"), run("R-1")])
    assert book.put(sheet, source="a.csv") == Stored(added=2, skipped=2, amended=0, conflicts=(2,))
    assert book.put(sheet, source="a.csv") == Stored(added=0, skipped=4, amended=0, conflicts=(2,))


def test_a_twin_that_says_what_the_book_says_is_skipped_though_the_first_differs(book) -> None:
    book.put(frame([run("R-1")]), source="a.csv")
    sheet = frame([run("R-1", gaps=2), run("R-1")])
    assert book.put(sheet, source="b.csv") == Stored(added=0, skipped=1, amended=0, conflicts=(0,))
    amended = book.put(sheet, source="b.csv", amend=True)
    assert amended == Stored(added=0, skipped=0, amended=1, conflicts=(1,))


def test_a_dry_run_tells_and_leaves_nothing(book) -> None:
    book.put(frame([run("R-1"), run("R-2")]), source="a.csv")
    told: list[Stored] = []
    sheet = frame([run("R-1", gaps=3), run("R-2"), run("R-3"), run("R-3", gaps=2)])
    for amend, expected in ((False, Stored(1, 1, 0, (0, 3))), (True, Stored(1, 1, 1, (3,)))):
        stored = book.put(sheet, source="b", amend=amend, dry_run=True, settle=told.append)
        assert stored == expected
    assert told == [Stored(1, 1, 0, (0, 3)), Stored(1, 1, 1, (3,))]
    assert book.runs()["gaps"].to_list() == [1, 1]
    assert book.history("R-3") == ()
    assert len(book.history("R-1")) == 1


def test_what_settle_raises_rolls_everything_back(book, place: str) -> None:
    book.put(frame([run("R-1")]), source="a.csv")
    seen: list[tuple[Stored, int]] = []

    def settle(stored: Stored) -> None:
        seen.append((stored, book.count()))
        raise OSError("the rejects file could not be written")

    with pytest.raises(OSError, match="rejects file"):
        book.put(frame([run("R-1", gaps=3), run("R-2")]), source="b", amend=True, settle=settle)
    assert seen == [(Stored(1, 0, 1), 1)]  # others see nothing before the commit
    assert book.runs()["gaps"].to_list() == [1]
    assert len(book.history("R-1")) == 1
    assert book.put(frame([run("R-2")]), source="b").added == 1
    book.close()
    with open_book(place) as again:
        assert again.count() == 2


def test_a_run_that_the_table_refuses_takes_the_whole_frame_with_it(book) -> None:
    sheet = frame([run("R-1"), run("R-2", finished_at=None), run("R-3")])
    with pytest.raises(StoreError, match="finished_at"):
        book.put(sheet, source="a.csv")
    assert book.count() == 0
    assert book.put(sheet.filter(pl.col("finished_at").is_not_null()), source="a").added == 2


def test_an_empty_frame_is_nothing_to_do(book) -> None:
    empty = pl.DataFrame(schema=run_schema())
    assert book.put(empty, source="a.csv") == Stored(added=0, skipped=0, amended=0)
    assert book.put(empty, source="a.csv", amend=True, dry_run=True) == Stored(0, 0, 0)
    assert book.runs().equals(empty)


def test_a_frame_that_lacks_columns_means_not_recorded(book) -> None:
    narrow = frame([run("R-1")]).select("gaps", "run_ref", "pieces_inspected", "finished_at")
    assert book.put(narrow, source="a.csv").added == 1
    assert book.put(frame([run("R-1")]), source="a.csv") == Stored(0, 1, 0)
    assert book.put(frame([run("R-1", operator="Ines")]), source="b", amend=True).amended == 1
    # What the narrow sheet says is the first version again: nothing of the second stays behind.
    assert book.put(narrow, source="c", amend=True).amended == 1
    assert book.runs()["operator"].item() is None
    assert book.put(frame([run("R-1")]), source="d") == Stored(0, 1, 0)


@pytest.mark.parametrize(
    "wrong",
    [
        pl.lit(1).alias("tea_breaks"),
        pl.lit(1).alias('gaps" = 1; DROP TABLE runs; --'),
        pl.lit(2.5).alias("gaps"),
        pl.lit("3").alias("gaps"),
        pl.lit(MONDAY).dt.replace_time_zone("Europe/Lisbon").alias("finished_at"),
        pl.lit(None, pl.String).alias("run_ref"),
    ],
)
def test_a_frame_that_is_not_one_of_runs_is_refused_whole(book, wrong: pl.Expr) -> None:
    with pytest.raises(StoreError):
        book.put(frame([run("R-1")]).with_columns(wrong), source="a.csv")
    assert book.count() == 0


def test_a_frame_without_references_is_refused(book) -> None:
    with pytest.raises(StoreError):
        book.put(frame([run("R-1")]).drop("run_ref"), source="a.csv")
    assert book.count() == 0


def test_progress_counts_every_row_once(book) -> None:
    steps: list[int] = []
    book.put(many(CHUNK_ROWS + 5), source="a.csv", progress=steps.append)
    assert steps == [CHUNK_ROWS, 5]
    assert book.count() == CHUNK_ROWS + 5


def test_amending_more_runs_than_are_copied_at_once(book) -> None:
    rows = HISTORY_ROWS + 3
    book.put(many(rows), source="a.csv")
    assert book.put(many(rows, gaps=2), source="b.csv", amend=True) == Stored(0, 0, rows)
    assert book.cells(["gaps"]).row(0, named=True)["count"] == 2 * rows
    for number in (0, HISTORY_ROWS - 1, HISTORY_ROWS, rows - 1):
        assert [change.content["gaps"] for change in book.history(f"R-{number}")] == [1, 2]


def test_amending_one_run(book) -> None:
    book.put(frame([run("R-1", operator="Ines", run_minutes=12.5)]), source="form")
    book.amend("R-1", frame([run("ignored", gaps=0)]), why="miscounted", source="office")
    now = book.runs().row(0, named=True)
    assert (now["run_ref"], now["gaps"], now["operator"]) == ("R-1", 0, None)
    first, second = book.history("R-1")
    assert (second.what, second.why, second.source) == ("amended", "miscounted", "office")
    assert first.why is None
    assert first.content["run_minutes"] == 12.5
    assert first.content["finished_at"] == MONDAY.isoformat()
    assert json.dumps(dict(first.content))
    present = datetime.now(UTC).replace(tzinfo=None)
    assert first.happened_at <= second.happened_at <= present


def test_amending_to_the_same_content_is_no_new_version(book) -> None:
    book.put(frame([run("R-1")]), source="form")
    book.amend("R-1", frame([run("R-1")]), why="nothing changed", source="office")
    assert len(book.history("R-1")) == 1


def test_amending_takes_one_row_of_a_known_run(book) -> None:
    with pytest.raises(RunNotFound, match="R-9"):
        book.amend("R-9", frame([run("R-9")]), why=None, source="office")
    with pytest.raises(RunNotFound):
        book.withdraw("R-9", why="never was", source="office")
    book.put(frame([run("R-1")]), source="form")
    for rows in ([], [run("R-1"), run("R-1", gaps=2)]):
        with pytest.raises(StoreError, match="one row"):
            book.amend("R-1", frame(rows), why=None, source="office")
    with pytest.raises(StoreError, match="finished_at"):
        book.amend("R-1", frame([run("R-1", finished_at=None)]), why=None, source="office")
    assert len(book.history("R-1")) == 1


def test_an_amended_run_can_be_amended_back_and_withdrawn(book) -> None:
    book.put(frame([run("R-1")]), source="form")
    for gaps in (2, 1):
        book.amend("R-1", frame([run("R-1", gaps=gaps)]), why="slip", source="office")
    book.withdraw("R-1", why="sample, not production", source="office")
    changes = book.history("R-1")
    assert [change.version for change in changes] == [1, 2, 3, 4]
    assert [change.what for change in changes] == ["logged", "amended", "amended", "withdrawn"]
    assert [change.content["gaps"] for change in changes] == [1, 2, 1, 1]
    moments = [change.happened_at for change in changes]
    assert moments == sorted(moments)


def test_there_is_no_history_of_an_unknown_run(book) -> None:
    assert book.history("R-1") == ()


def test_own_kinds_gain_columns_are_counted_and_kept_in_the_history(place: str) -> None:
    with new_book(place) as store:
        store.put(frame([run("R-0")]), source="form")
    settings = f"{place}/shop.toml"
    with open(settings, "a", encoding="utf-8") as file:  # noqa: PTH123 - appends
        file.write(OWN)
    with open_book(place) as store:
        own = store.shop.own
        assert [kind.name for kind in own] == ["loose_ends", "hook_cleanings"]
        assert store.runs().columns[-2:] == ["loose_ends", "hook_cleanings"]
        sewn = run("R-1", loose_ends=3, hook_cleanings=2, stitches_sewn=50_000.0)
        store.put(frame([sewn], own), source="form")
        cells = store.cells(["loose_ends", "hook_cleanings", "any"]).rows_by_key("kind", named=True)
        assert cells["loose_ends"][0]["count"] == 3
        assert cells["loose_ends"][0]["exposure"] == 10
        assert cells["hook_cleanings"][0]["count"] == 2
        assert cells["hook_cleanings"][0]["exposure"] == 50_000
        assert cells["any"][0]["count"] == 1 + 3  # the largest kind of each run
        store.amend("R-1", frame([{**sewn, "loose_ends": 4}], own), why=None, source="office")
        assert [each.content["loose_ends"] for each in store.history("R-1")] == [3, 4]
        # A run that does not use them keeps its mark: the sheet from before adds nothing.
        assert store.put(frame([run("R-0")]), source="form") == Stored(0, 1, 0)
    with open_book(place) as store:
        assert store.runs(refs=["R-1"])["loose_ends"].item() == 4


def test_an_own_kind_that_is_left_out_again_keeps_its_counts(place: str) -> None:
    with new_book(place, settings=OWN) as store:
        store.put(frame([run("R-1", loose_ends=3)], store.shop.own), source="form")
    settings = f"{place}/shop.toml"
    for text, columns in (("", 0), (OWN, 2)):
        with open(settings, "w", encoding="utf-8") as file:  # noqa: PTH123
            file.write(text)
        with open_book(place) as store:
            assert len(store.runs().columns) == len(run_schema()) + columns
            if columns:
                assert store.runs()["loose_ends"].item() == 3
            else:
                with pytest.raises(StoreError, match="loose_ends"):
                    store.cells(["loose_ends"])
