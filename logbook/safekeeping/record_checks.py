"""Whether the runs still say what was written down: a book's tables held against their marks."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import combinations
from pathlib import Path
from typing import Any

import polars as pl

from logbook.runs.columns import run_schema
from logbook.runs.content import content_digests
from logbook.store.history import KEEPING

SLICE_ROWS = 50_000
NAMED = 5
"""How many runs a problem names; it counts them all."""
MOST_RETIRED = 8

_VERSIONS = ("run_ref", "version", "change_what")
_DATA_ERRORS = (pl.exceptions.PolarsError, TypeError, ValueError, OverflowError)


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong: where, and what in words."""

    where: str
    says: str


def book_digest(snapshot: Path) -> str:
    """Which book a snapshot is of: the same for a copy of it, and for one restored."""
    steps = pl.read_parquet(snapshot / "migrations.parquet").sort("number")
    # The moment of the first step goes with a book wherever it is copied or restored.
    begun = steps["happened_at"][0].isoformat(timespec="microseconds")
    return hashlib.sha256(f"begun {begun}".encode()).hexdigest()[:32]


def check_records(folder: Path) -> tuple[Problem, ...]:
    """Hold the tables of a snapshot against the marks they carry, and against one another.

    Parameters
    ----------
    folder
        One Parquet file a table, as a store's ``snapshot`` writes them.

    Returns
    -------
    tuple of Problem
        Empty where everything agrees.
    """
    tables = {name: folder / f"{name}.parquet" for name in ("runs", "run_history", "migrations")}
    if missing := [name for name, path in tables.items() if not path.exists()]:
        return tuple(Problem(name, "the table is missing") for name in missing)
    try:
        numbers = sorted(pl.read_parquet(tables["migrations"])["number"].to_list())
        found = [
            _named(
                "runs",
                _altered_runs(tables["runs"], tables["run_history"]),
                "not what was written down",
            ),
            _named(
                "run_history",
                _altered_history(tables["run_history"]),
                "in an earlier version not what was written down",
            ),
            *_odd_versions(tables["runs"], tables["run_history"]),
        ]
    except pl.exceptions.PolarsError as cause:
        return (Problem("tables", f"cannot be read: {str(cause).splitlines()[0]}"),)
    if numbers != list(range(1, len(numbers) + 1)):
        found.append(Problem("migrations", f"the steps of the book are {numbers}, with a gap"))
    return tuple(problem for problem in found if problem is not None)


def _named(where: str, refs: Sequence[str], what: str) -> Problem | None:
    if not refs:
        return None
    names = ", ".join(refs[:NAMED]) + (", …" if len(refs) > NAMED else "")
    runs = "1 run is" if len(refs) == 1 else f"{len(refs):,} runs are"
    return Problem(where, f"{runs} {what}: {names}")


def _slices(path: Path) -> Iterator[pl.DataFrame]:
    # A slice at a time: the texts that marks are made of take much memory.
    table = pl.scan_parquet(path)
    rows = table.select(pl.len()).collect().item()
    for start in range(0, rows, SLICE_ROWS):
        yield table.slice(start, SLICE_ROWS).collect()


def _altered_runs(runs: Path, history: Path) -> list[str]:
    doubted = [
        slice_.filter(content_digests(slice_.drop(KEEPING)) != slice_["content_mark"])
        for slice_ in _slices(runs)
    ]
    rows = [row for part in doubted for row in part.iter_rows(named=True)]
    before = _before(history, rows)
    return [
        row["run_ref"]
        for row in rows
        if not _said_without_retired(
            {name: value for name, value in row.items() if name not in KEEPING},
            row["content_mark"],
            before.get((row["run_ref"], row["version"] - 1)),
        )
    ]


def _altered_history(history: Path) -> list[str]:
    doubted = [row for part in _slices(history) for row in _doubted(part)]
    before = _before(history, doubted)
    return [
        row["run_ref"]
        for row in doubted
        if not _said_without_retired(
            _content(row),
            row["content_mark"],
            before.get((row["run_ref"], row["version"] - 1)),
        )
    ]


def _doubted(history: pl.DataFrame) -> Iterator[dict[str, Any]]:
    rows = history.to_dicts()
    contents = [_content(row) or {} for row in rows]
    try:
        fits = (content_digests(_frame(contents)) == history["content_mark"]).to_list()
    except _DATA_ERRORS:
        # One content that is no run spoils the frame: then each is looked at by itself.
        fits = [False] * len(rows)
    yield from (row for row, fit in zip(rows, fits, strict=True) if not fit)


def _content(row: dict[str, Any]) -> dict[str, Any] | None:
    """What an entry of the history holds; None where it is not the run that it should be."""
    try:
        said = json.loads(row["content"])
        if isinstance(said, dict) and said["run_ref"] == row["run_ref"]:
            return {**said, "finished_at": datetime.fromisoformat(said["finished_at"])}
    except (*_DATA_ERRORS, KeyError, RecursionError):
        # Not a run any more: told by the caller.
        pass
    return None


def _before(history: Path, rows: Sequence[dict[str, Any]]) -> dict[tuple[str, int], dict[str, Any]]:
    """Contents of the history of some runs, by reference and version."""
    if not rows:
        return {}
    refs = list({row["run_ref"] for row in rows})
    found = pl.scan_parquet(history).filter(pl.col("run_ref").is_in(refs)).collect()
    return {
        (row["run_ref"], row["version"]): content
        for row in found.iter_rows(named=True)
        if (content := _content(row)) is not None
    }


def _said_without_retired(
    run: dict[str, Any] | None, mark: str, before: dict[str, Any] | None
) -> bool:
    """Whether the mark fits, but for kinds that the shop had given up by then.

    A run amended after a kind left the settings keeps the value that the version before had,
    but no mark of it.
    """
    if run is None:
        return False
    sheet, earlier = run_schema(), before or {}
    stale = [
        name
        for name, value in run.items()
        if name not in sheet and value is not None and earlier.get(name) == value
    ][:MOST_RETIRED]
    try:
        frame = _frame([run])
        return any(
            content_digests(frame.drop(left_out)).item() == mark
            for count in range(len(stale) + 1)
            for left_out in combinations(stale, count)
        )
    except _DATA_ERRORS:
        return False


def _frame(contents: Sequence[dict[str, Any]]) -> pl.DataFrame:
    sheet = run_schema()
    own = {
        name: pl.String() if isinstance(value, str) else pl.Int64()
        for content in contents
        for name, value in content.items()
        if name not in sheet
    }
    return pl.DataFrame(contents, schema={**sheet, **own}, orient="row")


def _odd_versions(runs: Path, history: Path) -> Iterator[Problem | None]:
    """Versions must rise one by one, from logged to the run as it stands or as withdrawn."""
    present = pl.read_parquet(runs, columns=list(_VERSIONS)).with_columns(present=True)
    past = pl.read_parquet(history, columns=list(_VERSIONS)).with_columns(present=False)
    last = pl.col("version") == pl.col("version").max()
    what = pl.col("change_what")
    judged = (
        pl.concat([past, present])
        .group_by("run_ref")
        .agg(
            gap=(pl.col("version").min() != 1)
            | (pl.col("version").max() != pl.len())
            | (pl.col("version").n_unique() != pl.len())
            | ~pl.col("present").filter(last).first().eq(pl.col("present").any()),
            start=(((what == "logged") != (pl.col("version") == 1)).any())
            | ~what.is_in(["logged", "amended", "withdrawn"]).all(),
            end=((what == "withdrawn") != (last & ~pl.col("present"))).any(),
        )
        .sort("run_ref")
    )
    for column, says in (
        ("gap", "with a version missing or out of turn"),
        ("start", "with a history that does not begin with the run as it was logged"),
        ("end", "neither in the book nor withdrawn, or both"),
    ):
        yield _named("run_history", judged.filter(pl.col(column))["run_ref"].to_list(), says)


def check_against(older: Path, newer: Path) -> tuple[Problem, ...]:
    """Hold a book against an earlier backup: what was kept once is never lost or changed.

    Finds what marks cannot: runs taken out whole, and who recorded a version, when and why.

    Parameters
    ----------
    older, newer
        Snapshots of the same book, one Parquet file a table.
    """
    before, now = _every_version(older), _every_version(newer)
    keys = ["run_ref", "version"]
    lost = before.join(now, on=keys, how="anti")
    both = before.join(now, on=keys, how="inner", suffix="_now")
    changed = both.filter(
        pl.any_horizontal(
            pl.col(name).ne_missing(pl.col(f"{name}_now")) for name in KEEPING if name not in keys
        )
    )
    found = (
        _named("book", _refs(lost), "in the backup, but no longer in the book"),
        _named("book", _refs(changed), "otherwise recorded in the backup"),
    )
    return tuple(problem for problem in found if problem is not None)


def _every_version(folder: Path) -> pl.DataFrame:
    names = ["run_ref", *KEEPING]
    tables = [pl.scan_parquet(folder / f"{name}.parquet") for name in ("runs", "run_history")]
    return pl.concat([table.select(names) for table in tables]).collect()


def _refs(versions: pl.DataFrame) -> list[str]:
    return versions["run_ref"].unique().sort().to_list()
