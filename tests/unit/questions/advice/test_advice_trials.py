import json
from dataclasses import replace

import pytest

from logbook.errors import KernelError
from logbook.kernels.trials import plan
from logbook.questions.advice.trials import MOST_LOTS, MOST_PIECES, trial_for
from logbook.runs.factors import factor_label

TOPPING = ((factor_label("topping"), "none", "water-soluble film"),)
BACKING = (
    (factor_label("backing"), "Tear-away", "Cut-away"),
    (factor_label("backing_supplier"), "Alder", "Birch"),
)


def trial(changes=TOPPING, **changed):
    usual = {"rate_now": 0.04, "smallest_difference": 0.02, "overdispersion": 0.3}
    return trial_for(changes, **{**usual, **changed})


def test_the_fields_that_scripts_rely_on():
    said = trial().as_json()
    assert {
        *("arms", "pieces_per_arm", "pairs", "power", "alpha", "smallest_difference"),
        "instructions",
    } <= set(said)
    assert json.loads(json.dumps(said)) == said
    assert said["arms"] == ["As now (Topping: none)", "Changed (Topping: water-soluble film)"]
    assert said["pieces"] == 2 * said["pairs"] * said["pieces_per_arm"]


def test_the_numbers_are_those_of_the_plan():
    found = trial(pieces_per_arm=80)
    same = plan(rate_now=0.04, rate_changed=0.02, pieces_per_arm_and_pair=80, overdispersion=0.3)
    assert (found.pairs, found.pieces) == (same.pairs, same.pieces)
    assert found.power == pytest.approx(same.power)


@pytest.mark.parametrize(
    "words",
    [
        "pairs on the same job",
        "drawn by chance",
        "same machine, operator, design, thread, fabric and lot of backing",
        "same kinds of defect at the same stage",
        "settled before you begin",
        "do not stop early on a good look",
        "Stop at once on anything unsafe",
        "needle breaks",
        "part is missing",
    ],
)
def test_a_fair_trial_is_described(words):
    assert any(words in line for line in trial().instructions)


def test_the_order_is_drawn_and_stays_the_same():
    found = trial()
    assert found.order == trial().order != trial(BACKING).order[: found.pairs]
    assert len(found.order) == found.pairs
    first = [pair for pair, arm in enumerate(found.order, start=1) if arm == "changed"]
    assert abs(2 * len(first) - found.pairs) <= 2
    assert f"pairs {', '.join(map(str, first))} begin with" in found.order_words()
    assert found.as_json()["order"] == list(found.order)


def test_a_trial_too_long_to_sew_has_no_order():
    found = trial(smallest_difference=0.001)
    assert found.too_long
    assert found.order == ()
    assert found.order_words() == ""


def test_an_order_of_a_pair_or_two_is_told_in_words():
    assert "every pair begins as now" in replace(trial(), order=("as now",)).order_words()
    assert "pair 1 begins with" in replace(trial(), order=("changed", "as now")).order_words()


def test_instructions_are_short_enough_for_a_card():
    said = trial(BACKING, lot_sd=0.3).instructions
    assert len(said) <= 8
    assert max(len(line) for line in said) <= 160


def test_another_backing_is_tried_with_several_lots():
    found = trial(BACKING, lot_sd=0.3)
    assert found.lots_each == 7
    assert any("at least 7 lots of each backing" in line for line in found.instructions)
    assert not any("lot of backing for" in line for line in found.instructions)
    assert found.pairs < 2.1 * trial(BACKING).pairs
    assert found.arms[1] == "Changed (Backing: Cut-away, Backing supplier: Birch)"


def test_where_lots_are_out_of_reach_the_trial_speaks_of_these_lots():
    found = trial(BACKING, smallest_difference=0.01, lot_sd=0.3)
    assert found.lots_each == 1
    assert found.pairs == trial(BACKING, smallest_difference=0.01).pairs
    wanted = plan(
        rate_now=0.04,
        rate_changed=0.03,
        pieces_per_arm_and_pair=50,
        overdispersion=0.3,
        lot_sd=0.3,
    ).lots_needed
    assert wanted > MOST_LOTS
    assert any(f"about {wanted} lots of each" in note for note in found.notes)
    assert any("more pieces cannot make up" in note for note in found.notes)


def test_an_unknown_spread_of_lots_is_said():
    assert any("is not known" in note for note in trial(BACKING).notes)


def test_lots_that_hardly_differ_leave_nothing_to_note():
    found = trial(BACKING, lot_sd=0.02)
    assert found.lots_each == 1
    assert not any("lots sewn with" in note for note in found.notes)


def test_lots_do_not_matter_where_the_backing_stays():
    assert trial(TOPPING, lot_sd=0.5) == trial(TOPPING)


def test_a_long_trial_says_what_a_coarser_one_takes():
    found = trial(smallest_difference=0.01)
    coarser = trial(smallest_difference=0.02)
    assert found.pairs > 40
    assert any(f"takes {coarser.pairs} pairs" in note for note in found.notes)
    assert not coarser.notes


def test_in_a_sentence():
    assert trial().finding() == (
        "36 pairs of 50 pieces as now and 50 changed (3,600 in all) show a fall of 2.0 points "
        "from 4.0 %, if it is there, 81 % of the time."
    )
    assert trial(pieces_per_arm=1).finding().startswith("1,1")


def test_a_fall_below_nothing_is_refused():
    with pytest.raises(KernelError, match="no higher than the rate now"):
        trial(smallest_difference=0.05)


def test_a_trial_that_nobody_would_sew_says_so_instead_of_a_count():
    far = trial(rate_now=0.004, smallest_difference=0.001)
    assert far.too_long
    assert far.pieces > MOST_PIECES
    assert far.finding().startswith("A trial would be too long to be worth it: ")
    assert "more than 20,000 pieces" in far.finding()
    assert not trial().too_long
