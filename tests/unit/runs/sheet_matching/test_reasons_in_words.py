"""Reasons in words become counts; what has no number gets none."""

from __future__ import annotations

import pytest

from logbook.runs.sheet_matching.reasons import Found, ReasonWords

WORDS = ReasonWords()


@pytest.mark.parametrize(
    ("text", "counts"),
    [
        ("puckered x3, 2 thread breaks", {"puckering": 3, "thread_breaks": 2}),
        ("3 of 24 crooked", {"misplacement": 3}),
        ("pucker (3); gaps: 2", {"puckering": 3, "gaps": 2}),
        ("pucker 3 gaps 2", {"puckering": 3, "gaps": 2}),
        ("2 pucker 3 gaps", {"puckering": 2, "gaps": 3}),
        ("two needle breaks and 1 birdnest", {"needle_breaks": 2, "bird_nests": 1}),
        ("Puckring 4", {"puckering": 4}),
        ("no puckering", {"puckering": 0}),
        ("5 thread breaks on head 3", {"thread_breaks": 5}),
        ("thread breaks - 4", {"thread_breaks": 4}),
        ("3x Fadenbruch, 1 schief", {"thread_breaks": 3, "misplacement": 1}),
        ("zwei Fadenbrüche und eine Kräuselung", {"thread_breaks": 2, "puckering": 1}),
        ("keine Falten", {"puckering": 0}),
    ],
)
def test_counts(text: str, counts: dict[str, int]) -> None:
    assert WORDS.read(text) == Found(counts)


@pytest.mark.parametrize(
    "text", ["puckering", "few puckers", "all puckered", "head 3 puckered", "2+1 puckered"]
)
def test_a_kind_without_a_number_has_no_count(text: str) -> None:
    assert WORDS.read(text) == Found({}, ("puckering",))


@pytest.mark.parametrize("text", ["none", "ok", "No defects", "keine", "i.O."])
def test_nothing_found(text: str) -> None:
    assert WORDS.read(text) == Found(none=True)


def test_what_is_not_understood_is_told_without_its_number() -> None:
    assert WORDS.read("oil stain 1, cap slipped 2") == Found(
        {"soiling": 1}, unknown=("cap slipped",)
    )
    answered = ReasonWords(answers={"cap slipped": "misplacement", "jam": ""})
    assert answered.read("oil stain 1, cap slipped 2, jam").counts["misplacement"] == 2


def test_once_with_and_once_without_a_number_is_no_count() -> None:
    assert WORDS.read("2 puckered, puckering again") == Found({}, ("puckering",))
