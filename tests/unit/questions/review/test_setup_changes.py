import polars as pl
import pytest

from logbook.calendar_weeks import weeks_before
from logbook.questions.review.changes import setup_changes
from logbook.questions.review.words.changes import change_sentence

WEEK = "2026-W42"


def totals(factor, before, now):
    """Totals by week and factor; ``before`` holds one mapping a week, oldest first."""
    weeks = weeks_before(WEEK, len(before))
    rows = [
        {"week": week, factor: level, "pieces_sewn": pieces}
        for week, levels in (*zip(weeks, before, strict=True), (WEEK, now))
        for level, pieces in levels.items()
    ]
    return {factor: pl.DataFrame(rows)}


def test_a_large_rise_beyond_the_usual_swings_is_told_in_words():
    before = [{"cut_away": 700 + 10 * (n % 3), "tear_away": 300 - 10 * (n % 3)} for n in range(12)]
    (change,) = setup_changes(totals("backing", before, {"cut_away": 500, "tear_away": 500}), WEEK)
    # 3,480 of 12,000 by hand: 4 weeks each of 300, 290 and 280.
    assert change_sentence(change) == (
        "Backing: Tear-away rose to 50.0 % of the week (500 of 1,000 pieces sewn), from 29.0 % in "
        "the 12 weeks before (3,480 of 12,000)."
    )
    assert (change.what, change.share) == ("up", 0.5)


def test_ten_points_within_the_usual_swings_are_no_news():
    before = [
        {"cut_away": 500 + 200 * (-1) ** n, "tear_away": 500 - 200 * (-1) ** n} for n in range(12)
    ]
    assert setup_changes(totals("backing", before, {"cut_away": 700, "tear_away": 300}), WEEK) == ()


def test_a_small_move_is_no_news_however_steady_it_was_before():
    before = [{"cut_away": 700, "tear_away": 300}] * 12
    now = {"cut_away": 620, "tear_away": 380}
    assert setup_changes(totals("backing", before, now), WEEK) == ()


def test_a_small_level_that_multiplies_is_large():
    before = [{"Elm": 970, "Fir": 30}] * 12
    (change,) = setup_changes(totals("backing_supplier", before, {"Elm": 910, "Fir": 90}), WEEK)
    assert (change.level, change.what) == ("Fir", "up")


def test_a_new_level_is_told():
    before = [{"Elm": 900, "Fir": 100}] * 12
    now = {"Elm": 850, "Fir": 90, "Oak": 60}
    (change,) = setup_changes(totals("backing_supplier", before, now), WEEK)
    assert change_sentence(change) == (
        "Backing supplier: Oak is new, with 6.0 % of the week (60 of 1,000 pieces sewn)."
    )


def test_a_new_level_below_five_percent_is_not():
    before = [{"Elm": 900, "Fir": 100}] * 12
    now = {"Elm": 870, "Fir": 90, "Oak": 40}
    assert setup_changes(totals("backing_supplier", before, now), WEEK) == ()


def test_where_new_levels_come_every_week_one_more_is_no_news():
    before = [{"Elm": 800, f"new {n}": 200} for n in range(12)]
    now = {"Elm": 800, "Oak": 200}
    assert setup_changes(totals("backing_supplier", before, now), WEEK) == ()


def test_a_level_that_was_always_there_and_is_gone_is_told():
    before = [{"M1": 600, "M2": 300, "M3": 100}] * 12
    (change,) = setup_changes(totals("machine", before, {"M1": 670, "M2": 330}), WEEK)
    assert change_sentence(change) == (
        "Machine: M3 has no pieces this week, after 10.0 % in the 12 weeks before (1,200 of "
        "12,000)."
    )


def test_a_level_that_comes_and_goes_is_not_missed():
    before = [{"M1": 900, "M3": 100} if n % 2 else {"M1": 1000} for n in range(12)]
    assert setup_changes(totals("machine", before, {"M1": 1000}), WEEK) == ()


def test_of_two_levels_only_the_rise_is_told():
    before = [{"M1": 600, "M2": 400}] * 12
    (change,) = setup_changes(totals("machine", before, {"M1": 300, "M2": 700}), WEEK)
    assert (change.level, change.what) == ("M2", "up")


def test_pieces_without_record_are_a_level_too():
    before = [{"Elm": 1000}] * 12
    (change,) = setup_changes(totals("backing_supplier", before, {"Elm": 600, None: 400}), WEEK)
    assert change.level == "not recorded"


@pytest.mark.parametrize("weeks", [0, 3])
def test_with_few_weeks_before_no_change_is_claimed(weeks):
    before = [{"M1": 600, "M2": 400}] * weeks
    assert setup_changes(totals("machine", before, {"M3": 1000}), WEEK) == ()


def test_a_week_without_pieces_has_no_mix():
    assert setup_changes(totals("machine", [{"M1": 600}] * 12, {"M1": 0}), WEEK) == ()


def test_the_largest_come_first_and_there_is_an_end():
    mix = {}
    for number, factor in enumerate(
        ["machine", "operator", "fabric", "backing_supplier", "topping", "hooping"]
    ):
        before = [{"a": 600, "b": 400, "c": 100, "d": 100}] * 12
        mix |= totals(factor, before, {"e": 500 + number, "f": 300, "g": 200})
    found = setup_changes(mix, WEEK)
    assert len(found) == 10
    moves = [abs(change.share - change.share_before) for change in found]
    assert moves == sorted(moves, reverse=True)


def test_a_factor_outside_the_list_is_named_by_its_column():
    before = [{"rayon": 600, "polyester": 400}] * 12
    (change,) = setup_changes(
        totals("thread_brand", before, {"rayon": 100, "polyester": 900}), WEEK
    )
    assert change_sentence(change).startswith("Thread brand: polyester rose")
