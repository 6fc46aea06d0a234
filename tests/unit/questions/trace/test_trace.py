"""What the planted bad lot of the sample year touched, as its sheets say it."""

from __future__ import annotations

import polars as pl
import pytest

from logbook.errors import ParameterError
from logbook.questions.trace import QUESTION
from logbook.store import Window
from logbook.store.duckdb_store import DuckStore

LOT = Window(where={"backing_lot": "A2431"})


def test_all_that_the_bad_lot_touched_is_listed(year: DuckStore) -> None:
    answer = QUESTION.asked(year, backing_lot="a2431")
    told = answer.as_json()
    runs = year.runs(LOT)
    assert [each["run_ref"] for each in told["runs"]] == runs["run_ref"].to_list()
    assert set(told["jobs"]) == set(runs["job"])
    assert told["customers"] == sorted(set(runs["customer"]))
    assert told["pieces_sewn"] == runs["pieces_sewn"].sum()
    kinds = {each["kind"]: each for each in told["kinds"]}
    assert kinds["gaps"]["observed"] == runs["gaps"].sum()
    # Planted odds of 6: the lot's own past is no excuse.
    assert 3 < kinds["gaps"]["observed"] / kinds["gaps"]["expected"] < 8
    others = [each for each in kinds.values() if each["kind"] not in ("gaps", "thread_breaks")]
    observed, expected = (sum(each[name] for each in others) for name in ("observed", "expected"))
    assert 0.6 < observed / expected < 1.6
    assert told["held"] == []
    assert answer.sentences[0].startswith("Gaps between areas")
    figure = answer.figure()
    assert figure is not None
    assert max(figure.data[0].y) == kinds["gaps"]["observed"]
    assert answer.table().height == len(told["runs"])


def test_several_columns_and_days_are_followed_together(year: DuckStore) -> None:
    of = "backing_lot=A2431, machine=M2 six-head"
    told = QUESTION.asked(year, of=of, until="2026-03-01").as_json()
    assert told["of"] == {"backing_lot": "A2431", "machine": "M2 six-head"}
    wanted = pl.col("machine").eq("M2 six-head") & (pl.col("finished_at").dt.month() < 3)
    assert len(told["runs"]) == year.runs(LOT).filter(wanted).height


def test_money_is_that_of_the_kinds_and_needles_are_followed_too(year: DuckStore) -> None:
    overdue = QUESTION.asked(year, needle_age_band="overdue").result
    kinds = {each.kind.name: each for each in overdue.counts}
    assert kinds["skipped_stitches"].expected is not None
    assert kinds["skipped_stitches"].observed > 2 * kinds["skipped_stitches"].expected
    assert overdue.money > 0


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({}, "Say what to follow"),
        ({"of": "A2431"}, "'A2431' is not COLUMN=VALUE"),
        ({"of": "job=a", "job": "b"}, "job is given twice"),
        ({"of": "colour=red"}, "cannot be filtered by 'colour'"),
        ({"needle_nm": "thick"}, "needle_nm is 'thick'"),
    ],
)
def test_what_cannot_be_followed_is_refused(
    year: DuckStore, asked: dict[str, str], says: str
) -> None:
    with pytest.raises(ParameterError) as refused:
        QUESTION.asked(year, **asked)
    assert says in " ".join(refused.value.reasons.values())
