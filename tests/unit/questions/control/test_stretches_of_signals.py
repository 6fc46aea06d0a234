"""Signals that go on from point to point are said once."""

from __future__ import annotations

from logbook.questions.control.stretches import Direction, Signal, told_together

LABELS = [f"2026-W{number}" for number in range(30, 41)]


def signal(week: int, rule: str, pattern: str, direction: Direction = "above") -> Signal:
    return Signal(f"2026-W{week}", rule, direction, f"Week 2026-W{week}: {pattern}.")


def test_a_stretch_is_told_from_its_first_point_to_its_last() -> None:
    found = [signal(week, "four_of_five", "four of the last five weeks high") for week in (31, 32)]
    assert told_together(found, LABELS, "week") == (
        "Weeks 2026-W31 to 2026-W32, each time: four of the last five weeks high.",
    )


def test_a_break_or_another_side_begins_a_new_one() -> None:
    found = [
        signal(31, "four_of_five", "high"),
        signal(33, "four_of_five", "high"),
        signal(34, "four_of_five", "low", "below"),
    ]
    assert len(told_together(found, LABELS, "week")) == 3


def test_the_last_of_so_many_in_a_row_says_how_many() -> None:
    found = [signal(30 + more, "run_of_8", f"{8 + more} weeks in a row") for more in range(4)]
    assert told_together(found, LABELS, "week") == ("Week 2026-W33: 11 weeks in a row.",)


def test_points_beyond_the_limits_keep_their_own_figures() -> None:
    found = [
        signal(31, "beyond_limits", "41 of 900"),
        signal(31, "two_of_three", "two of three"),
        signal(32, "beyond_limits", "39 of 800"),
        signal(32, "two_of_three", "two of three"),
    ]
    assert told_together(found, LABELS, "week") == (
        "Week 2026-W31: 41 of 900.",
        "Weeks 2026-W31 to 2026-W32, each time: two of three.",
        "Week 2026-W32: 39 of 800.",
    )
