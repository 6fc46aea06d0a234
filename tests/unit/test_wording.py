import math

import pytest

from logbook import wording


@pytest.mark.parametrize(
    ("rate", "said"),
    [
        (0.0340, "3.4 %"),
        (0.123456, "12.3 %"),
        (1.0, "100.0 %"),
        (0.0008, "0.08 %"),
        (0.00341, "0.34 %"),
        (0.00996, "1.0 %"),
        (0.0, "0 %"),
        (0.000081, "0.0081 %"),
        (-0.012, "-1.2 %"),
        (math.nan, "not known"),
    ],
)
def test_percent_shows_more_decimals_of_smaller_rates(rate, said):
    assert wording.percent(rate) == said


def test_one_thing_and_several():
    assert [wording.so_many(count, "run") for count in (0, 1, 1204)] == [
        "0 runs",
        "1 run",
        "1,204 runs",
    ]


def test_percent_takes_digits_when_told():
    assert wording.percent(0.95, 0) == "95 %"
    assert wording.percent(-0.0001, 1) == "0.0 %"


def test_interval_ends_share_their_decimals():
    assert wording.percent_interval((0.0251, 0.0458)) == "2.5 to 4.6 %"
    assert wording.percent_interval((0.0, 0.0012)) == "0.00 to 0.12 %"
    assert wording.percent_interval((math.nan, 0.1)) == "not known"


@pytest.mark.parametrize(
    ("n", "said"),
    [(1204, "1,204"), (0, "0"), (2.5, "2.5"), (1204.4, "1,204"), (math.inf, "not known")],
)
def test_counts_have_thousands_separators(n, said):
    assert wording.number(n) == said


def test_event_rates_are_said_per_100000_stitches():
    assert wording.per_100k(3.1e-5) == "3.1 per 100,000 stitches"
    assert wording.per_100k(0.0) == "0 per 100,000 stitches"


def test_differences_are_points():
    assert wording.points(0.012) == "1.2 points"
    assert wording.points(-0.0004) == "-0.04 points"


@pytest.mark.parametrize(
    ("amount", "said"),
    [
        (41.2, "EUR 41.20"),
        (1204.499, "EUR 1,204.50"),
        (-3, "\N{MINUS SIGN}EUR 3.00"),
        (-0.001, "EUR 0.00"),
        (math.nan, "not known"),
    ],
)
def test_money_has_its_currency_and_two_decimals(amount, said):
    assert wording.money(amount, "EUR") == said


def test_a_rate_of_pieces_says_what_it_rests_on():
    said = wording.rate_words("pieces", 41, 1204, 41 / 1204, (0.0251, 0.0458))
    assert said == "41 of 1,204 pieces inspected (3.4 %, 95 % interval 2.5 to 4.6 %)"


def test_a_rate_of_events_says_what_it_rests_on():
    said = wording.rate_words("events", 17, 541_000.0, 17 / 541_000, (1.83e-5, 5.03e-5))
    assert said == (
        "17 in 541,000 stitches sewn (3.1 per 100,000 stitches, 95 % interval 1.8 to 5.0)"
    )


def test_nothing_inspected_is_said_so():
    none = (math.nan, math.nan)
    assert wording.rate_words("pieces", 0, 0, math.nan, none) == "no pieces inspected"
    assert wording.rate_words("events", 0, 0, math.nan, none) == "no stitches sewn"


def test_what_json_cannot_hold_becomes_null():
    assert wording.json_number(0.5) == 0.5
    assert wording.json_number(3) == 3.0
    assert wording.json_number(None) is None
    assert wording.json_number(math.nan) is None
    assert wording.json_number(math.inf) is None


@pytest.mark.parametrize(
    ("ratio", "said"),
    [
        (1.58, "1.58 times"),
        (0.69, "0.69 times"),
        (0.9984, "0.998 times"),
        (3.953, "4.0 times"),
        (10.2, "10 times"),
        (0.004, "under 0.01 times"),
        (math.nan, "not known"),
    ],
)
def test_ratios_are_said_in_two_figures_or_so(ratio, said):
    assert wording.times(ratio) == said


def test_an_interval_of_ratios_has_both_ends():
    assert wording.times_interval((0.997, 1.874)) == "0.997 to 1.87"
    assert wording.times_interval((math.nan, 2.0)) == "not known"


def test_a_chance_is_never_certain_and_never_rounded_up() -> None:
    assert wording.in_hundred(0.897) == "89 in 100"
    assert wording.in_hundred(0.9) == "90 in 100"
    assert wording.in_hundred(1.0) == "99 in 100"
    assert wording.in_hundred(0.0) == "1 in 100"


def test_an_interval_with_an_end_that_cannot_be_said_is_none() -> None:
    assert wording.json_interval((0.1, 0.2)) == [0.1, 0.2]
    assert wording.json_interval((0.1, math.inf)) is None
    assert wording.json_interval((math.nan, 0.2)) is None


def test_a_slip_of_a_name_is_guessed() -> None:
    known = ("Alder", "Birch", "pique polo")
    assert wording.meant_by("Aldr", known) == "Alder"
    assert wording.meant_by("POLO", known) == "pique polo"
    assert wording.meant_by("zzz", known) is None
    assert wording.meant_by("", known) is None
    assert wording.meant_by("Alder", ()) is None
