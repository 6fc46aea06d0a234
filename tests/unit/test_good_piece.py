import math

import pytest

from logbook.good_piece import backing_cost, cost_per_good_piece, price_for
from logbook.shop import Costs, Price

PRICES = (
    Price("Alder", "cut_away", 0.60, gsm=60),
    Price("Alder", "cut_away", 0.90, gsm=90),
    Price("Alder", "cut_away", 0.75),
    Price("Birch", "Sheer mesh", 1.10, gsm=50),
    Price("Cedar", "tear_away", 0.40, gsm=40),
    Price("Cedar", "tear_away", 0.50, gsm=60),
)


def asked(supplier, backing, gsm):
    price = price_for(PRICES, supplier=supplier, backing=backing, gsm=gsm)
    return None if price is None else price.per_m2


def test_the_weight_itself_comes_first():
    assert asked("Alder", "cut_away", 90) == 0.90
    assert asked("Alder", "cut_away", 60.4) == 0.60


def test_a_price_without_weight_serves_the_rest():
    assert asked("Alder", "cut_away", 70) == 0.75
    assert asked("Alder", "cut_away", None) == 0.75


def test_else_the_nearest_weight_and_the_lighter_of_two_as_near():
    assert asked("Cedar", "tear_away", 55) == 0.50
    assert asked("Cedar", "tear_away", 50) == 0.40


def test_names_are_matched_whatever_their_case_and_spelling():
    assert asked("  birch", "sheer_mesh", 50) == 1.10
    assert asked("CEDAR", "tearaway", 40) == 0.40


def test_without_weight_only_a_single_price_can_be_meant():
    assert asked("Birch", "sheer_mesh", None) == 1.10
    assert asked("Cedar", "tear_away", None) is None


def test_what_is_not_in_the_list_has_no_price():
    assert asked("Birch", "cut_away", 50) is None
    assert asked("Dogwood", "cut_away", 50) is None
    assert asked("Alder", "not a backing", 50) is None


def test_backing_is_priced_by_area_layers_and_waste():
    costs = Costs(sheet_area_m2=0.05, cutting_waste=0.2)
    # 0.90 x 0.05 m2 x 2 layers x 1.2
    assert backing_cost(0.90, layers=2, costs=costs) == pytest.approx(0.108)


def test_good_pieces_carry_the_bad_ones():
    # 100 pieces: backing 10, 4 spoiled at 12 = 48, rework 2; over 96 good ones.
    got = cost_per_good_piece(backing=0.10, spoil_rate=0.04, piece_value=12.0, rework=0.02)
    assert got == pytest.approx(60 / 96)


def test_without_a_good_piece_there_is_no_cost_of_one():
    assert math.isnan(cost_per_good_piece(backing=0.1, spoil_rate=1.0, piece_value=12.0))
