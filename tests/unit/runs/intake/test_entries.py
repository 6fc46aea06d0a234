"""Runs as names and values: one from a form, many from a request."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from logbook.errors import RecordError
from logbook.runs.intake import Parsed, ParsedRun, parse_run, parse_runs
from logbook.shop import Shop

NOW = datetime(2026, 11, 25, 12, 0)
RUN: dict[str, Any] = {"finished_at": "2026-10-05 14:30", "pieces_inspected": 24, "puckering": 1}


def one(**values: Any) -> ParsedRun:
    return parse_run(RUN | values, shop=Shop(), known={"machine": ("M1",)}, now=NOW)


def many(*entries: Any) -> Parsed:
    return parse_runs(entries, shop=Shop(), known={}, now=NOW)


def reasons(**values: Any) -> dict[str, str]:
    with pytest.raises(RecordError) as caught:
        one(**values)
    return caught.value.reasons


@pytest.mark.parametrize(
    ("name", "value", "kept"),
    [
        ("finished_at", date(2026, 10, 5), datetime(2026, 10, 5)),
        ("finished_at", datetime(2026, 10, 5, 14), datetime(2026, 10, 5, 14)),
        (
            "finished_at",
            datetime(2026, 10, 5, 14, tzinfo=ZoneInfo("Europe/Lisbon")),
            datetime(2026, 10, 5, 13),
        ),
        ("pieces_sewn", 24, 24),
        ("pieces_sewn", 24.0, 24),
        ("pieces_sewn", "24", 24),
        ("speed_spm", 750.5, 750.5),
        ("speed_spm", Decimal("750.5"), 750.5),
        ("fabric_sheer", True, True),
        ("fabric_sheer", 0, False),
        ("machine", 7, "7"),
        ("machine", "m1", "M1"),
        ("backing", "Cutaway", "cut_away"),
        ("machine", "", None),
        ("machine", None, None),
        ("Head-Count", 4, 4),
        ("machine", "M\ud8001", "M?1"),
        ("stitches_sewn", 250.125, 250.125),
    ],
)
def test_values_of_any_kind_are_understood(name: str, value: Any, kept: Any) -> None:
    run = one(**{name: value}).run
    assert run.height == 1
    assert run[name.lower().replace("-", "_")].item() == kept


def test_a_run_always_has_a_reference() -> None:
    assert one().run["run_ref"].item() == one().run["run_ref"].item()
    assert one(run_ref="R1").run["run_ref"].item() == "R1"


def test_each_column_at_fault_has_its_sentence() -> None:
    found = reasons(head_count=0, puckering="many", speed_spm=float("nan"))
    assert set(found) == {"puckering", "speed_spm", "head_count"}
    assert found["puckering"] == "puckering is 'many', which is not a whole number"


def test_two_faults_of_one_column_are_one_sentence() -> None:
    found = reasons(pieces_sewn=20, pieces_inspected=24, pieces_defective=25, puckering=26)
    assert found["pieces_defective"].count(";") == 1


def test_a_name_that_is_no_column_is_told_with_the_near_one() -> None:
    assert reasons(pukering=1) == {
        "pukering": "'pukering' is no column of a run sheet (did you mean puckering?)"
    }
    assert reasons(invoice=1) == {"invoice": "'invoice' is no column of a run sheet"}


def test_a_name_given_twice_is_told() -> None:
    assert reasons(Puckering=2) == {"puckering": "puckering is given twice"}


def test_what_no_cell_can_hold_is_told() -> None:
    assert reasons(machine=["M1"]) == {"machine": "machine: a list is neither a text nor a number"}


def test_a_run_without_any_outcome_says_nothing() -> None:
    values = {"finished_at": "2026-10-05", "pieces_sewn": 24}
    with pytest.raises(RecordError) as caught:
        parse_run(values, shop=Shop(), known={}, now=NOW)
    assert list(caught.value.reasons) == ["pieces_defective"]
    kept = parse_run(values, shop=Shop(), known={}, now=NOW, outcome_needed=False)
    assert kept.run["pieces_sewn"].item() == 24


def test_notes_come_along() -> None:
    assert one(machine="m1").notes == ("machine: 'm1' (1 run) was read as 'M1'",)


def test_many_are_judged_each_for_itself() -> None:
    found = many(
        RUN | {"run_ref": "R1"},
        "not a run",
        RUN | {"run_ref": "R3", "puckering": 25},
        RUN | {"run_ref": "R4", "pukering": 1},
        RUN | {"run_ref": "R5", "machine": "M2"},
        {"finished_at": "2026-10-05", "pieces_sewn": 3},
        {},
        RUN | {"run_ref": "R1", "puckering": 2},
    )
    assert found.good["run_ref"].to_list() == ["R1", "R5"]
    assert found.good_positions.to_list() == [0, 4]
    assert found.rows == 8
    assert [(reject.position, reject.column) for reject in found.rejects] == [
        (1, ""),
        (2, "puckering"),
        (3, "pukering"),
        (5, "pieces_defective"),
        (6, "pieces_defective"),
        (7, "run_ref"),
    ]
    assert "run 1 of this request" in found.rejects[-1].reason


def test_none_at_all_are_no_trouble() -> None:
    found = many()
    assert found.good.is_empty()
    assert (found.rows, found.rejects) == (0, ())
