"""Judging: a frame parted in two, nothing lost, and unreadable cells not blamed twice."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import polars as pl

from logbook.runs.columns import run_schema
from logbook.runs.judging import REASONS, judge

NOW = datetime(2026, 11, 25, 12, 0)
TRUE_RUN: dict[str, Any] = {
    "finished_at": datetime(2026, 10, 31, 14, 30),
    "pieces_sewn": 24,
    "puckering": 1,
}


def frame(*rows: dict[str, Any]) -> pl.DataFrame:
    schema = run_schema()
    return pl.DataFrame(
        [{name: (TRUE_RUN | row).get(name) for name in schema} for row in rows], schema=schema
    )


def test_good_rows_keep_their_order_and_say_which_they_were() -> None:
    runs = frame({"machine": "M1"}, {"puckering": 99}, {"machine": "M3"}, {"head_count": 0})
    judged = judge(runs, now=NOW)
    assert judged.good.equals(runs[[0, 2]])
    assert judged.positions.to_list() == [0, 2]
    assert judged.bad["position"].to_list() == [1, 3]


def test_all_reasons_of_a_row_are_joined() -> None:
    judged = judge(frame({"head_count": 0, "puckering": 30, "gaps": 30}), now=NOW)
    assert judged.bad.rows() == [
        (
            0,
            "head_count, puckering, gaps",
            "head_count is 0; it must be from 1 to 1 000 heads; "
            "puckering is 30, but only 24 pieces were sewn; "
            "gaps is 30, but only 24 pieces were sewn",
        )
    ]


def test_a_long_cell_is_shortened_in_its_reason() -> None:
    judged = judge(frame({"backing": "x" * 5000}), now=NOW)
    assert "x" * 40 + "…;" in judged.bad["reason"].item()


def test_a_cell_that_could_not_be_read_is_the_only_thing_told_of_it() -> None:
    runs = frame({"pieces_sewn": None, "head_count": 0}, {})
    unread = pl.DataFrame(
        [(0, "pieces_sewn", "pieces_sewn is 'two dozen'")], schema=REASONS, orient="row"
    )
    judged = judge(runs, now=NOW, unread=unread)
    # Without pieces_sewn there would be no exposure and nothing to count puckering against.
    assert judged.reasons["column"].to_list() == ["pieces_sewn", "head_count"]
    assert judged.positions.to_list() == [1]


def test_no_rows_are_no_trouble() -> None:
    judged = judge(frame({}).clear(), now=NOW)
    assert judged.good.schema == run_schema()
    assert judged.bad.is_empty()


def test_the_weight_in_ounces_is_judged_and_left_out() -> None:
    runs = frame({"backing_gsm": 51.0}).with_columns(backing_oz_yd2=pl.lit(1.5))
    judged = judge(runs, now=NOW)
    assert judged.good.columns == list(run_schema())
    assert judge(runs.with_columns(backing_oz_yd2=pl.lit(2.5)), now=NOW).good.is_empty()
