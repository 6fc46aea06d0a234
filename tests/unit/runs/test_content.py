"""Content marks: the same anywhere, any time; references made from them."""

from __future__ import annotations

import hashlib
import struct
from datetime import datetime
from typing import Any

import polars as pl
import pytest

from logbook.runs.columns import run_schema
from logbook.runs.content import MADE_PREFIX, content_digests, made_references, twins
from logbook.vocabulary.defects import DefectKind

MOMENT = datetime(2026, 10, 31, 14, 30)


def sheet(*rows: dict[str, Any]) -> pl.DataFrame:
    schema = run_schema()
    whole = [{name: {"finished_at": MOMENT, **row}.get(name) for name in schema} for row in rows]
    return pl.DataFrame(whole, schema=schema)


def mark(**values: Any) -> str:
    return str(content_digests(sheet(values)).item())


def test_a_mark_is_the_digest_of_what_was_recorded_in_order_of_the_names() -> None:
    # Written out by hand: the mark of a run must never change, or a second import adds it again.
    minutes = struct.unpack("<Q", struct.pack("<d", 12.5))[0]
    text = (
        "fabric_sheer=true\x1ffinished_at=2026-10-31T14:30:00.000000\x1fgaps=2\x1f"
        f"machine=M1 – süd\x1frun_minutes={minutes}\x1f"
    )
    expected = hashlib.blake2b(text.encode(), digest_size=16).hexdigest()
    made = mark(machine="M1 – süd", gaps=2, run_minutes=12.5, fabric_sheer=True)
    assert made == expected == "11f188c8c7a4c2354ccba165171985c5"  # as b2sum -l 128 has it


def test_the_reference_is_no_part_of_the_content() -> None:
    assert mark(run_ref="R-1") == mark(run_ref="R-2") == mark()


def test_columns_that_nobody_filled_in_change_nothing() -> None:
    rows = sheet({"gaps": 1}, {"gaps": 2, "notes": "x"})
    narrow = rows.select("gaps", "notes", "finished_at", "run_ref")
    wider = rows.with_columns(
        a_new_kind=pl.lit(None, pl.Int64), another=pl.lit(None), zz=pl.lit(None, pl.Float64)
    )
    assert content_digests(rows).to_list() == content_digests(narrow).to_list()
    assert content_digests(rows).to_list() == content_digests(wider).to_list()
    shuffled = rows.select(sorted(rows.columns, reverse=True))
    assert content_digests(rows).to_list() == content_digests(shuffled).to_list()


def test_everything_recorded_changes_the_mark() -> None:
    samples = [
        mark(),
        mark(gaps=0),
        mark(gaps=1),
        mark(puckering=1),
        mark(gaps=1, puckering=1),
        mark(run_minutes=1.0),
        mark(run_minutes=1.0 + 2**-52),
        mark(run_minutes=0.0),
        mark(notes=""),
        mark(notes=" "),
        mark(notes="gaps=1"),
        mark(notes="x\x1fgaps=1"),
        mark(machine="x", notes="y"),
        mark(machine="x\x1fnotes=y"),
        mark(machine="x\x1f\x1fnotes=y"),
        mark(machine="x\x1f", notes="y"),
        mark(fabric_sheer=True),
        mark(fabric_sheer=False),
        mark(finished_at=MOMENT.replace(microsecond=1)),
    ]
    assert len(set(samples)) == len(samples)
    assert all(len(each) == 32 and int(each, 16) >= 0 for each in samples)


def test_a_zero_below_nothing_is_zero() -> None:
    assert mark(run_minutes=-0.0) == mark(run_minutes=0.0)


@pytest.mark.parametrize("unit", ["ms", "ns"])
def test_the_unit_in_which_a_moment_is_kept_does_not_matter(unit: str) -> None:
    rows = sheet({"gaps": 1})
    other = rows.with_columns(pl.col("finished_at").dt.cast_time_unit(unit))
    assert content_digests(rows).to_list() == content_digests(other).to_list()


def test_no_runs_have_no_marks() -> None:
    marks = content_digests(sheet().clear())
    assert marks.dtype == pl.String
    assert marks.is_empty()


def test_missing_references_are_made_from_the_content() -> None:
    rows = sheet({"gaps": 1}, {"gaps": 2, "run_ref": "OWN"}, {"gaps": 1}, {"gaps": 3}, {"gaps": 1})
    filled = made_references(rows)
    made = MADE_PREFIX + mark(gaps=1)[:20]
    assert filled["run_ref"].to_list() == [
        made,
        "OWN",
        f"{made}-2",
        MADE_PREFIX + mark(gaps=3)[:20],
        f"{made}-3",
    ]
    assert filled.drop("run_ref").equals(rows.drop("run_ref"))
    assert made_references(rows).equals(filled)
    assert made_references(filled).equals(filled)


def test_a_named_twin_does_not_take_a_number_of_the_unnamed() -> None:
    rows = sheet({"gaps": 1, "run_ref": "OWN"}, {"gaps": 1})
    assert made_references(rows)["run_ref"].to_list() == ["OWN", MADE_PREFIX + mark(gaps=1)[:20]]


def test_twins_are_the_later_rows_that_say_the_same() -> None:
    rows = sheet({"gaps": 1}, {"gaps": 1, "run_ref": "OWN"}, {"gaps": 2}, {"gaps": 1}, {"gaps": 1})
    assert list(twins(rows)) == [3, 4]


def test_columns_of_an_own_kind_count_when_filled_in() -> None:
    own = DefectKind(
        name="loose_ends",
        label="Loose ends",
        measure="pieces",
        definition="A thread end longer than 5 mm.",
        usual_levers=(),
        remedies=(),
        source="the shop's own",
        own=True,
    )
    rows = sheet({"gaps": 1}, {"gaps": 1}).with_columns(
        pl.Series("loose_ends", [None, 2], dtype=run_schema([own])["loose_ends"])
    )
    first, second = content_digests(rows)
    assert first == mark(gaps=1)
    assert second != first
