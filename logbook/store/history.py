"""The history of runs: every version that was replaced or withdrawn, contents as JSON."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

import duckdb
import polars as pl

from logbook.store.interface import Change
from logbook.store.opening import transaction

HISTORY_ROWS = 20_000
HISTORY = {
    "run_ref": pl.String(),
    "version": pl.Int32(),
    "content_mark": pl.String(),
    "change_what": pl.String(),
    "change_why": pl.String(),
    "source": pl.String(),
    "recorded_at": pl.Datetime("us"),
    "content": pl.String(),
}
KEEPING = ("content_mark", "version", "change_what", "change_why", "source", "recorded_at")


def changes_of(cursor: duckdb.DuckDBPyConnection, run_ref: str) -> tuple[Change, ...]:
    """Every version of a run, oldest first, as of one moment."""
    # One transaction for both tables, or a version that moves in between would be missed.
    with transaction(cursor):
        past = cursor.execute(
            "SELECT version, recorded_at, change_what, change_why, source, content "
            "FROM run_history WHERE run_ref = ? ORDER BY version",
            [run_ref],
        ).fetchall()
        present = _present(cursor, "WHERE run_ref = ?", [run_ref])
    earlier = (
        Change(version, happened_at, what, why, source, json.loads(content))
        for version, happened_at, what, why, source, content in past
    )
    now = (
        Change(
            run["version"],
            run["recorded_at"],
            run["change_what"],
            run["change_why"],
            run["source"],
            _plain_content(run),
        )
        for run in present
    )
    return (*earlier, *now)


def supersede(cursor: duckdb.DuckDBPyConnection, run_refs: Sequence[str]) -> None:
    """Copy the present versions of runs into the history, contents as JSON."""
    for start in range(0, len(run_refs), HISTORY_ROWS):
        part = pl.DataFrame({"run_ref": list(run_refs[start : start + HISTORY_ROWS])})
        cursor.register("superseded", part.to_arrow())
        present = _present(cursor, "WHERE run_ref IN (SELECT run_ref FROM superseded)", [])
        entries = [_entry(run) for run in present]
        cursor.unregister("superseded")
        # One statement for all: row by row, amending a large sheet took minutes.
        written = pl.DataFrame(entries, schema=HISTORY, orient="row")
        cursor.register("entries", written.to_arrow())
        cursor.execute("INSERT INTO run_history SELECT * FROM entries")
        cursor.unregister("entries")


def _plain_content(run: Mapping[str, Any]) -> dict[str, Any]:
    """What a run recorded, as JSON can hold it."""
    return {
        name: value.isoformat() if isinstance(value, datetime) else value
        for name, value in run.items()
        if name not in KEEPING and value is not None
    }


def _entry(run: Mapping[str, Any]) -> list[Any]:
    content = _plain_content(run)
    return [
        run["run_ref"],
        run["version"],
        run["content_mark"],
        run["change_what"],
        run["change_why"],
        run["source"],
        run["recorded_at"],
        json.dumps(content, ensure_ascii=False),
    ]


def _present(
    cursor: duckdb.DuckDBPyConnection, where: str, values: list[Any]
) -> list[dict[str, Any]]:
    found = cursor.execute(f"SELECT * FROM runs {where}", values)
    names = [item[0] for item in found.description or ()]
    return [dict(zip(names, row, strict=True)) for row in found.fetchall()]
