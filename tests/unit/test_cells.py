"""Pooling cells: sums by hand, unrecorded groups and losses kept apart."""

from __future__ import annotations

import polars as pl
import pytest

from logbook.cells import MEASURES, of_kind, pool, with_kind
from logbook.errors import AnalysisError

CELLS = pl.DataFrame(
    {
        "kind": ["gaps", "gaps", "gaps", "puckering"],
        "backing": ["cut_away", None, "cut_away", "cut_away"],
        "week": ["2026-W40", "2026-W40", "2026-W41", "2026-W41"],
        "runs": [1, 2, 3, 4],
        "exposure": [10.0, 20.0, 30.0, 40.0],
        "count": [1, 0, 2, 5],
        "spoiled": [0.5, None, 1.5, None],
        "reworked": [None, None, 2.0, None],
        "rework_minutes": [3.0, 0.0, None, None],
    }
)


def test_pooling_sums_by_group_in_order() -> None:
    pooled = pool(CELLS, by=["kind", "backing"])
    assert pooled.columns == ["kind", "backing", *MEASURES]
    assert pooled.rows() == [
        ("gaps", "cut_away", 4, 40.0, 3, 2.0, 2.0, 3.0),
        ("gaps", None, 2, 20.0, 0, None, None, 0.0),
        ("puckering", "cut_away", 4, 40.0, 5, None, None, None),
    ]


def test_pooling_over_everything_is_one_cell() -> None:
    pooled = pool(of_kind(CELLS, "gaps"))
    assert pooled.rows() == [(6, 60.0, 3, 2.0, 2.0, 3.0)]
    assert pooled.schema == CELLS.select(MEASURES).schema


def test_no_cells_pool_to_nothing() -> None:
    assert pool(CELLS.clear(), by=["kind"]).is_empty()
    assert pool(CELLS.clear()).rows() == [(0, 0.0, 0, None, None, None)]


def test_a_frame_with_some_of_the_measures_can_be_pooled() -> None:
    narrow = CELLS.select("week", "exposure", "count")
    assert pool(narrow, by=["week"]).rows() == [("2026-W40", 30.0, 1), ("2026-W41", 70.0, 7)]


def test_a_column_that_is_not_there_is_named() -> None:
    with pytest.raises(AnalysisError, match="'fabric'"):
        pool(CELLS, by=["backing", "fabric"])


def test_cells_of_one_kind() -> None:
    gaps = of_kind(CELLS, "gaps")
    assert "kind" not in gaps.columns
    assert gaps["count"].to_list() == [1, 0, 2]
    assert of_kind(CELLS, "soiling").is_empty()


@pytest.mark.parametrize("kinds", ["aabbb", "ababb", "bbbbb", "aaaaa"])
def test_the_cells_of_a_kind_are_found_whether_they_stand_together_or_not(kinds):
    cells = pl.DataFrame({"kind": list(kinds), "count": range(5)})
    for kind in "ab":
        wanted = [place for place, each in enumerate(kinds) if each == kind]
        assert with_kind(cells, kind)["count"].to_list() == wanted
        assert of_kind(cells, kind).columns == ["count"]
