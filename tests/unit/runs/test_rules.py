"""The rules: each has a run that breaks it, and runs on its edge that do not."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import polars as pl
import pytest

from logbook.runs.columns import COLUMNS, WEIGHT_IN_OUNCES, run_schema
from logbook.runs.judging import judge
from logbook.runs.rules import RUN_RULES, rules_for
from logbook.vocabulary.defects import DEFECT_KINDS, DefectKind
from logbook.vocabulary.own_columns import Own

NOW = datetime(2026, 11, 25, 12, 0)
TRUE_RUN: dict[str, Any] = {
    "finished_at": datetime(2026, 10, 31, 14, 30),
    "pieces_sewn": 24,
    "pieces_inspected": 20,
}


def frame(*rows: dict[str, Any], own: tuple[Own, ...] = ()) -> pl.DataFrame:
    schema = run_schema(own) | {"backing_oz_yd2": pl.Float64()}
    return pl.DataFrame(
        [{name: (TRUE_RUN | row).get(name) for name in schema} for row in rows], schema=schema
    )


def reasons(**values: Any) -> list[tuple[str, str]]:
    judged = judge(frame(values), now=NOW)
    return list(judged.reasons.select("column", "reason").iter_rows())


# Every rule between columns: what breaks it, the column blamed, a part of the sentence.
BREACHES: tuple[tuple[str, dict[str, Any], str, str], ...] = (
    ("finished_at_recorded", {"finished_at": None}, "finished_at", "is empty"),
    (
        "finished_at_not_before_1900",
        {"finished_at": datetime(1899, 12, 31)},
        "finished_at",
        "1899-12-31",
    ),
    (
        "exposure_recorded",
        {"pieces_sewn": None, "pieces_inspected": None},
        "pieces_inspected",
        "stitches_sewn",
    ),
    ("inspected_within_sewn", {"pieces_inspected": 25}, "pieces_inspected", "25, but only 24"),
    (
        "spoiled_and_reworked_within_sewn",
        {"pieces_spoiled": 20, "pieces_reworked": 5},
        "pieces_spoiled",
        "more than the 24 pieces sewn",
    ),
    ("returned_within_sewn", {"pieces_returned": 25}, "pieces_returned", "only 24"),
    (
        "defective_has_pieces",
        {
            "pieces_defective": 1,
            "pieces_sewn": None,
            "pieces_inspected": None,
            "stitches_sewn": 1000.0,
        },
        "pieces_defective",
        "neither",
    ),
    ("defective_within_inspected", {"pieces_defective": 21}, "pieces_defective", "only 20"),
    (
        "defective_within_sewn",
        {"pieces_defective": 25, "pieces_inspected": None},
        "pieces_defective",
        "only 24",
    ),
    ("needle_parts_answered", {"needle_breaks": 1}, "needle_parts_found", "every part"),
    ("pucker_grade_in_halves", {"pucker_grade": 3.25}, "pucker_grade", "3.25"),
    (
        "no_layers_without_backing",
        {"backing": "none", "backing_layers": 1},
        "backing_layers",
        "backing is none",
    ),
    (
        "weights_agree",
        {"backing_gsm": 60.0, "backing_oz_yd2": 1.5},
        "backing_oz_yd2",
        "different weights",
    ),
)


@pytest.mark.parametrize(("name", "values", "column", "part"), BREACHES, ids=lambda case: str(case))
def test_a_broken_rule_is_told_with_its_values(
    name: str, values: dict[str, Any], column: str, part: str
) -> None:
    assert [(found, part in reason) for found, reason in reasons(**values)] == [(column, True)]


def test_every_rule_between_columns_has_a_breach_above() -> None:
    assert [rule.name for rule in RUN_RULES] == [name for name, *_ in BREACHES]


CANNOT_SAY = {"pieces_inspected": None, "pieces_sewn": None, "stitches_sewn": 1000.0}


@pytest.mark.parametrize(
    "values",
    [
        {},
        {"pieces_inspected": 24},
        {"pieces_inspected": 0, "pieces_sewn": 0},
        {"pieces_spoiled": 20, "pieces_reworked": 4},
        {"pieces_spoiled": 30, "pieces_sewn": None},
        {"pieces_defective": 20, "puckering": 20, "gaps": 20},
        {"pieces_defective": 1, "fabric_faults": 20},
        {"pieces_defective": 20, "puckering": 0},
        {"puckering": 24, "pieces_inspected": None},
        {"needle_breaks": 0},
        {"needle_breaks": 1, "needle_parts_found": False},
        {"needle_breaks": 1, "needle_parts_found": True},
        {"needle_parts_found": False},
        {"pucker_grade": 1.0},
        {"pucker_grade": 4.5},
        {"backing": "none", "backing_layers": 0, "backing_gsm": 60.0},
        {"backing": "cut_away", "backing_layers": 2},
        {"backing_gsm": 51.0, "backing_oz_yd2": 1.5},
        {**CANNOT_SAY, "thread_breaks": 3},
        {**CANNOT_SAY, "pieces_spoiled": 3},
        {"finished_at": datetime(1900, 1, 1)},
        {"finished_at": datetime(2027, 11, 26, 12, 0)},
    ],
)
def test_what_can_be_true_is_let_through(values: dict[str, Any]) -> None:
    assert reasons(**values) == []


def test_a_finish_more_than_a_year_ahead_is_a_slip() -> None:
    ((column, reason),) = reasons(finished_at=datetime(2027, 11, 26, 12, 1))
    assert column == "finished_at"
    assert "more than a year from now" in reason


LIMITED = [
    column for column in (*COLUMNS, WEIGHT_IN_OUNCES) if column.type in ("integer", "number")
]
FREE = {"pieces_sewn": None, "pieces_inspected": None, "stitches_sewn": 1000.0}


@pytest.mark.parametrize("column", LIMITED, ids=lambda column: column.name)
def test_a_column_ends_where_its_limits_are(column: Any) -> None:
    lowest = column.lowest if column.above is None else column.above
    step = 1 if column.type == "integer" else 1e-3
    below = lowest - step if column.above is None else lowest
    name = column.name
    for wrong in (below, column.highest + step):
        told = [reason for found, reason in reasons(**{name: wrong}) if found == name]
        assert any("it must be" in reason for reason in told)
    for right in (lowest if column.above is None else lowest + step, column.highest):
        told = [reason for found, reason in reasons(**{name: right}) if found == name]
        assert not any("it must be" in reason for reason in told)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_a_number_that_is_none_is_refused(value: float) -> None:
    ((column, reason),) = reasons(density=value)
    assert (column, "it must be above 0" in reason) == ("density", True)


@pytest.mark.parametrize(("name", "longest"), [("run_ref", 100), ("machine", 200), ("notes", 5000)])
def test_a_text_may_be_as_long_as_its_column_says(name: str, longest: int) -> None:
    assert reasons(**{name: "ü" * longest}) == []
    ((column, reason),) = reasons(**{name: "ü" * (longest + 1)})
    assert column == name
    assert f"longer than {longest}" in reason


def test_a_choice_is_one_of_its_list() -> None:
    ((column, reason),) = reasons(seen_at="in the van")
    assert column == "seen_at"
    assert "in_hoop, off_hoop, pressed, washed" in reason


PIECE_KINDS = [kind for kind in DEFECT_KINDS if kind.measure == "pieces"]


@pytest.mark.parametrize("kind", PIECE_KINDS, ids=lambda kind: kind.name)
def test_no_more_pieces_show_it_than_were_looked_at(kind: DefectKind) -> None:
    name = kind.name
    assert reasons(**{name: 20}) == []
    ((column, reason),) = reasons(**{name: 21})
    assert (column, "only 20 pieces were inspected" in reason) == (name, True)
    ((column, reason),) = reasons(**{name: 25, "pieces_inspected": None})
    assert (column, "only 24 pieces were sewn" in reason) == (name, True)
    ((column, reason),) = reasons(**{name: 0, **FREE})
    assert (column, "neither" in reason) == (name, True)


@pytest.mark.parametrize("kind", PIECE_KINDS, ids=lambda kind: kind.name)
def test_defective_pieces_are_at_least_those_of_each_kind(kind: DefectKind) -> None:
    told = reasons(**{kind.name: 5, "pieces_defective": 4})
    expected = ["pieces_defective"] if kind.charged_to_setup else []
    assert [column for column, _ in told] == expected


def test_a_kind_of_the_shops_own_has_the_same_rules() -> None:
    own = (
        DefectKind("loose_ends", "Loose ends", "", (), (), "", own=True),
        DefectKind("jams", "Jams", "", (), (), "", measure="events", own=True),
    )
    runs = frame({"loose_ends": 21}, {"jams": 999}, {"jams": -1}, own=own)
    judged = judge(runs, own=own, now=NOW)
    assert judged.positions.to_list() == [1]
    assert judged.reasons["column"].to_list() == ["loose_ends", "jams"]


def test_names_of_rules_are_their_own_and_sentences_name_columns_that_are_there() -> None:
    rules = rules_for((), now=NOW)
    names = [rule.name for rule in rules]
    assert len(set(names)) == len(names)
    there = set(run_schema()) | {"backing_oz_yd2"}
    for rule in rules:
        assert rule.reads <= there
        assert rule.column in there
        rule.says.format_map(dict.fromkeys(there, ""))
