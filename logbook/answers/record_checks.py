"""Whether the runs still say what was written down: a book's tables held against their marks."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import combinations
from pathlib import Path
from typing import Any

import polars as pl

from logbook.records.columns import run_schema
from logbook.records.content import content_marks
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

    def as_json(self) -> dict[str, str]:
        """Plain values for ``--json``."""
        return {"where": self.where, "says": self.says}


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
            _named("runs", _altered_runs(tables["runs"]), "not what was written down"),
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
    table = pl.read_parquet(path)
    for start in range(0, table.height, SLICE_ROWS):
        yield table.slice(start, SLICE_ROWS)


def _altered_runs(path: Path) -> list[str]:
    altered: list[str] = []
    for runs in _slices(path):
        content = runs.drop(KEEPING)
        marks = runs["content_mark"]
        altered.extend(
            str(runs["run_ref"][place])
            for place in (content_marks(content) != marks).arg_true()
            if not _said_without_retired(content[place], marks[place])
        )
    return altered


def _said_without_retired(run: pl.DataFrame, mark: str) -> bool:
    """Whether the mark fits once kinds that the shop has given up are left out.

    A run amended after a kind left the settings keeps the kind's value, but no mark of it.
    """
    sheet = run_schema()
    own = [name for name in run.columns if name not in sheet and run[name].item() is not None]
    return any(
        content_marks(run.drop(left_out)).item() == mark
        for count in range(1, min(len(own), MOST_RETIRED) + 1)
        for left_out in combinations(own, count)
    )


def _altered_history(path: Path) -> list[str]:
    altered: list[str] = []
    for history in _slices(path):
        contents = [_content(text) for text in history["content"]]
        refs, marks = history["run_ref"].to_list(), history["content_mark"].to_list()
        try:
            fits = (content_marks(_frame(contents)) == pl.Series(marks)).to_list()
        except _DATA_ERRORS:
            # One content that is no run spoils the frame: then each by itself.
            fits = [False] * len(refs)
        for ref, mark, content, fit in zip(refs, marks, contents, fits, strict=True):
            whole = fit or _fits(content, mark)
            if not whole or content is None or content.get("run_ref") != ref:
                altered.append(ref)
    return altered


def _content(text: str) -> dict[str, Any] | None:
    try:
        said = json.loads(text)
        if isinstance(said, dict):
            said["finished_at"] = datetime.fromisoformat(said["finished_at"])
            return said
    except (*_DATA_ERRORS, KeyError, RecursionError):
        # Not a run any more: told by the caller.
        pass
    return None


def _frame(contents: Sequence[dict[str, Any] | None]) -> pl.DataFrame:
    sheet = run_schema()
    rows = [content if content is not None else {} for content in contents]
    own = {name: pl.Int64() for row in rows for name in row if name not in sheet}
    return pl.DataFrame(rows, schema={**sheet, **own}, orient="row")


def _fits(content: dict[str, Any] | None, mark: str) -> bool:
    if content is None:
        return False
    try:
        run = _frame([content])
    except _DATA_ERRORS:
        return False
    return content_marks(run).item() == mark or _said_without_retired(run, mark)


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
