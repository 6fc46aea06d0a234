import pytest
from supplier_cells import cells, noted, totals

from logbook.errors import AnalysisError
from logbook.kernels.intervals import proportion
from logbook.questions.suppliers import words
from logbook.questions.suppliers.analyse import analyse
from logbook.shop import Costs, Price, Shop
from logbook.vocabulary.defects import ANY

COSTS = Costs(
    piece_value=10.0,
    labour_minute=0.5,
    rework_minutes_per_piece=6.0,
    sheet_area_m2=0.05,
    cutting_waste=0.0,
)
SHOP = Shop(
    costs=COSTS,
    costs_assumed=False,
    prices=(
        Price("Alder", "cut_away", 1.0, gsm=60),
        Price("Alder", "cut_away", 2.0, gsm=90),
        Price("Birch", "cut_away", 0.8),
    ),
)
CELLS = cells(("Alder", "polo", 20, 1000.0), ("Birch", "polo", 30, 1000.0))
BIRCH = {"backing_supplier": "Birch", "backing_layers": 1, "pieces_sewn": 100, "pieces_spoiled": 0}


def costed(*rows, shop=SHOP, **asked):
    result = analyse(CELLS, kind=ANY, shop=shop, totals=totals(*rows), **asked)
    answer = {row["supplier"]: row for row in result.as_json()["suppliers"]}
    return result, answer


def test_a_good_piece_carries_backing_spoilage_and_rework():
    result, rows = costed(
        {
            "backing_gsm": 60.0,
            "backing_layers": 2,
            "pieces_sewn": 600,
            "pieces_spoiled": 10,
            "rework_minutes": 60.0,
        },
        {
            "backing_gsm": 90.0,
            "backing_layers": 1,
            "pieces_sewn": 400,
            "pieces_spoiled": 10,
            "pieces_reworked": 10,
        },
        BIRCH,
    )
    # Both weights come to 0.10 a piece; rework (60 + 10 x 6) x 0.5 over 1,000; 2 % spoiled at 10.
    assert rows["Alder"]["backing_cost_per_piece"] == pytest.approx(0.10)
    assert rows["Alder"]["cost_per_good_piece"] == pytest.approx((0.10 + 0.06 + 0.2) / 0.98)
    spoilage = proportion(count=20, trials=1000)
    assert rows["Alder"]["cost_interval"] == pytest.approx(
        [(0.16 + 10 * rate) / (1 - rate) for rate in (spoilage.lower, spoilage.upper)]
    )
    assert rows["Birch"]["cost_per_good_piece"] == pytest.approx(0.04)
    assert "EUR 36.73 for 100 good pieces (95 % interval EUR " in words.sentences(result)[0]
    assert noted(result, "spoilage alone")
    assert "Birch: rework was not recorded." in words.notes(result)


def test_only_runs_that_recorded_spoilage_tell_of_it():
    _, rows = costed(
        {"backing_gsm": 60.0, "pieces_sewn": 100, "pieces_spoiled": 5},
        {"backing_gsm": 60.0, "pieces_sewn": 900},
        BIRCH,
    )
    assert rows["Alder"]["pieces_spoiled"] == 5
    assert rows["Alder"]["cost_per_good_piece"] == pytest.approx((0.05 + 0.5) / 0.95)


def test_totals_that_know_where_spoilage_was_recorded_are_taken_at_their_word():
    frame = totals({"backing_gsm": 60.0, "pieces_sewn": 1000, "pieces_spoiled": 5})
    known = frame.with_columns(pieces_sewn_spoilage_recorded=frame["pieces_sewn"] // 10)
    result = analyse(CELLS, kind=ANY, shop=SHOP, totals=known)
    assert result.cost("Alder").pieces_sewn == 100


def test_a_missing_price_is_named():
    result, rows = costed(
        {"backing_gsm": 60.0, "pieces_sewn": 50, "pieces_spoiled": 0},
        {"backing": "tear_away", "pieces_sewn": 50, "pieces_spoiled": 0},
        BIRCH,
    )
    assert rows["Alder"]["cost_per_good_piece"] is None
    assert rows["Alder"]["cost_interval"] is None
    assert (
        "What a good piece costs on Alder's backing cannot be said: no price is known of "
        "Alder's tear-away (page Materials)."
    ) in words.notes(result)
    assert "good pieces" not in words.sentences(result)[0]


def test_a_few_pieces_without_a_price_are_left_out():
    result, rows = costed(
        {"backing_gsm": 60.0, "backing_layers": 1, "pieces_sewn": 960, "pieces_spoiled": 0},
        {"backing": "tear_away", "pieces_sewn": 40, "pieces_spoiled": 0},
        BIRCH,
    )
    assert rows["Alder"]["backing_cost_per_piece"] == pytest.approx(0.05)
    assert "Alder: 40 pieces on backing without a price left out." in words.notes(result)


def test_without_record_of_spoilage_there_is_no_cost():
    result, rows = costed({"backing_gsm": 60.0, "pieces_sewn": 500}, BIRCH)
    assert rows["Alder"]["cost_per_good_piece"] is None
    assert noted(result, "no run on Alder's backing records pieces_spoiled")


def test_without_totals_for_a_supplier_there_is_no_cost():
    result, rows = costed(BIRCH)
    assert rows["Alder"]["cost_per_good_piece"] is None
    assert noted(result, "Alder's backing cannot be said: no pieces sewn")


def test_where_no_piece_came_out_good_there_is_no_cost():
    result, rows = costed({"backing_gsm": 60.0, "pieces_sewn": 5, "pieces_spoiled": 5}, BIRCH)
    assert rows["Alder"]["cost_per_good_piece"] is None
    assert noted(result, "came out good")


def test_layers_and_weight_that_were_not_recorded_are_as_on_the_rest():
    result, rows = costed(
        {"backing_gsm": 90.0, "backing_layers": 2, "pieces_sewn": 100, "pieces_spoiled": 0},
        {"pieces_sewn": 100, "pieces_spoiled": 0},
        BIRCH | {"backing_layers": None},
    )
    # 2.0 x 0.05 m2 x 2 layers for all of Alder's.
    assert rows["Alder"]["backing_cost_per_piece"] == pytest.approx(0.2)
    assert "Birch: layers of backing were not recorded, one is assumed." in words.notes(result)
    assert all("Alder: layers" not in note for note in words.notes(result))


def test_a_weight_priced_as_another_is_said():
    result, _ = costed({"backing_gsm": 80.0, "pieces_sewn": 100, "pieces_spoiled": 0}, BIRCH)
    assert (
        "Alder: cut-away of 80 g/m² is priced as that of 90 g/m², the nearest that has a price."
    ) in words.notes(result)


def test_only_the_backing_asked_about_is_costed():
    _, rows = costed(
        {"backing_gsm": 60.0, "pieces_sewn": 100, "pieces_spoiled": 0},
        {"backing": "tear_away", "pieces_sewn": 100, "pieces_spoiled": 50},
        {"backing": "none", "pieces_sewn": 100, "pieces_spoiled": 50},
        BIRCH,
        backing="cut_away",
    )
    assert rows["Alder"]["cost_per_good_piece"] == pytest.approx(0.05)


def test_assumed_costs_are_said_to_be():
    rows = ({"backing_gsm": 60.0, "pieces_sewn": 100, "pieces_spoiled": 1}, BIRCH)
    result, _ = costed(*rows, shop=Shop(prices=SHOP.prices))
    assert noted(result, "not this shop's")
    result, _ = costed(*rows)
    assert all("not this shop's" not in note for note in words.notes(result))


def test_costs_that_were_not_asked_for_are_null_and_said_so():
    result = analyse(CELLS, kind=ANY, shop=SHOP)
    assert result.as_json()["suppliers"][0]["cost_per_good_piece"] is None
    assert "What a good piece costs was not asked for." in words.notes(result)


def test_totals_that_are_not_grouped_as_needed_are_refused():
    with pytest.raises(AnalysisError, match="'backing_gsm'"):
        analyse(CELLS, kind=ANY, shop=SHOP, totals=totals(BIRCH).drop("backing_gsm"))


def test_layers_of_another_backing_do_not_count():
    _, rows = costed(
        {"backing_gsm": 60.0, "backing_layers": 1, "pieces_sewn": 1, "pieces_spoiled": 0},
        {"backing_gsm": 60.0, "pieces_sewn": 100, "pieces_spoiled": 0},
        {"backing": "sheer_mesh", "backing_layers": 4, "pieces_sewn": 1, "pieces_spoiled": 0},
        BIRCH,
    )
    assert rows["Alder"]["backing_cost_per_piece"] == pytest.approx(0.05)
