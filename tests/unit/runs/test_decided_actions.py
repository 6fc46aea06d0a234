"""What an action can say, and what cannot be."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date

import pytest

from logbook.errors import RecordError
from logbook.runs.actions import DecidedAction, action_from

WHOLE = DecidedAction(
    "Hoop towels again",
    "2026-W40",
    by="Ida",
    due="2026-W41",
    kind="gaps",
    fabric="terry towel",
    machine="M1",
    state="done",
    ended_on=date(2026, 10, 6),
    why="new hoops came",
)


def test_an_action_comes_back_as_it_was_written() -> None:
    assert action_from(json.loads(json.dumps(WHOLE.plain()))) == WHOLE
    assert WHOLE.where == {"machine": "M1", "fabric": "terry towel"}


def test_empty_text_is_not_said_and_spaces_are_tidied() -> None:
    found = action_from(
        {"what": "  Slow  M2 \n down ", "decided": "2026-W40", "by": " ", "due": ""}
    )
    assert found == DecidedAction("Slow M2 down", "2026-W40")


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"what": " "}, "what"),
        ({"what": "x" * 501}, "what"),
        ({"by": "x" * 121}, "by"),
        ({"decided": "2026-40"}, "decided"),
        ({"decided": "2026-W54"}, "decided"),
        ({"due": "2026-W39"}, "due"),
        ({"state": "open"}, "ended_on"),
        ({"ended_on": None}, "ended_on"),
        ({"ended_on": date(2026, 9, 27)}, "ended_on"),
        ({"state": "dropped", "why": " "}, "why"),
        ({"state": "lost"}, "state"),
    ],
)
def test_what_cannot_be_is_refused(changed: dict[str, object], field: str) -> None:
    with pytest.raises(RecordError) as refused:
        replace(WHOLE, **changed)
    assert list(refused.value.reasons) == [field]


@pytest.mark.parametrize(
    ("told", "field"),
    [
        ({"colour": "red"}, "colour"),
        ({"by": 3}, "by"),
        ({"state": "done", "ended_on": "yesterday"}, "ended_on"),
    ],
)
def test_values_of_another_sort_are_refused(told: dict[str, object], field: str) -> None:
    with pytest.raises(RecordError) as refused:
        action_from({"what": "Slow M2 down", "decided": "2026-W40", **told})
    assert list(refused.value.reasons) == [field]
