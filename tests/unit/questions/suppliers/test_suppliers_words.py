import pytest
from supplier_cells import REVERSAL, cells, compared, noted, row_of

from logbook.errors import AnalysisError
from logbook.questions.suppliers import words
from logbook.shop import SameMill, Shop
from logbook.vocabulary.defects import kind


def test_without_an_adjusted_comparison_its_fields_are_empty():
    answer = compared(REVERSAL).as_json()
    for row in answer["suppliers"]:
        for name in ("like_for_like_rate", "like_for_like_interval", "difference"):
            assert row[name] is None
        assert (row["difference_interval"], row["verdict"], row["pieces_needed"]) == (None,) * 3


def test_a_reversal_is_warned_of_and_the_buyer_told():
    result = compared(REVERSAL, reference="Alder")
    assert row_of(result, "Birch")["crude_misleads"] is True
    assert words.warnings(result)[0].startswith(
        "All jobs thrown together, Birch's rate of puckering is higher than Alder's (3.9 % against "
        "3.0 %"
    )
    assert "Birch got the harder jobs: trust the like-for-like figure." in words.warnings(result)[0]
    assert words.headline(result) == (
        "On the same jobs, Birch's rate of puckering is 1.0 points below Alder's (95 % interval "
        "0.08 to 1.9 points below), over 3,800 pieces inspected; that is more than the luck of "
        "counting. This plain check does not allow for lots: treat it as a lead, not a verdict. "
        "The plain rate of Birch over all jobs misleads: see the warnings."
    )


def test_each_supplier_has_a_line_with_pieces_and_interval():
    alder, birch = words.sentences(compared(REVERSAL, reference="Alder"))
    # Variance of the difference (Greenland & Robins) by hand: 2.22e-5, so 1.96 x 0.471 points.
    assert alder == (
        "Alder, what the others are compared with: 120 of 4,000 pieces inspected (3.0 %, 95 % "
        "interval 2.5 to 3.6 %) from 2 lots."
    )
    assert birch == (
        "On the same jobs, Birch's rate of puckering is 1.0 points below Alder's (95 % interval "
        "0.08 to 1.9 points below), resting on 3,800 pieces inspected in 2 like-for-like groups. "
        "This plain check does not allow for lots: treat it as a lead, not a verdict."
    )


def test_what_is_within_luck_is_said_to_be_no_clear_difference():
    result = compared(
        cells(("Alder", "pique polo", 20, 1000.0), ("Birch", "pique polo", 21, 1000.0)),
        reference="Alder",
    )
    assert words.sentences(result)[1].startswith(
        "On the same jobs there is no clear difference: Birch's"
    )
    assert "below to" in words.sentences(result)[1]


def test_a_single_supplier_explains_itself():
    result = compared(cells(("Alder", "pique polo", 20, 1000.0)))
    assert words.headline(result) == (
        "Only Alder is on record: 20 of 1,000 pieces inspected (2.0 %, 95 % interval 1.3 to 3.1 "
        "%). There is no other supplier to compare with."
    )
    assert words.sentences(result) == (
        "Alder: 20 of 1,000 pieces inspected (2.0 %, 95 % interval 1.3 to 3.1 %).",
    )
    assert result.table().height == 1


def test_no_supplier_at_all_explains_itself():
    result = compared(cells((None, "pique polo", 20, 1000.0)))
    answer = result.as_json()
    assert (answer["reference"], answer["suppliers"], answer["strata"]) == (None, [], [])
    assert words.headline(result) == (
        "No run names its backing supplier, so there is nothing to compare."
    )
    assert words.notes(result) == (
        "Left out: 1,000 pieces inspected in 1 run, as their backing supplier is not recorded.",
    )
    with pytest.raises(AnalysisError) as caught:
        compared(cells((None, "pique polo", 20, 1000.0)), reference="Alder")
    assert caught.value.hint == "No run here names a supplier."


def test_a_difference_that_varies_names_where_most():
    result = compared(
        cells(
            ("Alder", "pique polo", 20, 1000.0),
            ("Birch", "pique polo", 80, 1000.0),
            ("Alder", "twill", 40, 1000.0),
            ("Birch", "twill", 42, 1000.0),
            ("Alder", "jersey T-shirt", 60, 1000.0),
            ("Birch", "jersey T-shirt", 20, 1000.0),
        ),
        reference="Alder",
    )
    said = words.warnings(result)[-1]
    assert "is not the same on every fabric and backing" in said
    assert (
        "Furthest up: pique polo on cut-away (light, 47 to 66 g/m²), 6.0 points above Alder's"
        in said
    )
    assert "Furthest down: jersey T-shirt on cut-away" in said
    assert "80 of 1,000 pieces inspected against 20 of 1,000" in said


def test_what_is_not_recorded_is_said_to_be_taken_as_alike():
    result = compared(
        cells(
            ("Alder", "pique polo", 20, 1000.0, {"weight_band": None}),
            ("Birch", "pique polo", 21, 900.0, {"weight_band": None}),
        )
    )
    assert row_of(result, "Birch")["mantel_haenszel"]["strata"] == 1
    assert noted(result, "1,900 pieces inspected lack")
    assert result.strata[0].job.words() == "pique polo on cut-away (weight not recorded)"


def test_faults_of_the_fabric_are_no_suppliers_doing():
    result = compared(
        cells(("Alder", "polo", 3, 100.0), ("Birch", "polo", 4, 100.0)), kind=kind("fabric_faults")
    )
    assert "no backing can be blamed" in words.headlines(result)[0]


@pytest.mark.parametrize(
    ("mill", "said"),
    [
        (SameMill(("alder", "Birch"), "Cutaway"), 1),
        (SameMill(("Alder", "Birch"), None), 1),
        (SameMill(("Alder", "Birch"), "tear_away"), 0),
        (SameMill(("Alder", "Cedar"), None), 0),
    ],
)
def test_suppliers_of_one_mill_are_pointed_out(mill, said):
    result = compared(REVERSAL, shop=Shop(same_mill=(mill,)))
    notes = [note for note in words.notes(result) if "same mill" in note]
    assert len(notes) == said


def test_several_that_differ_are_counted_in_the_finding():
    result = compared(
        cells(
            ("Alder", "polo", 20, 2000.0),
            ("Birch", "polo", 60, 1000.0),
            ("Cedar", "polo", 50, 1000.0),
            ("Elm", "polo", 10, 1000.0),
        )
    )
    assert "Birch's rate of puckering is 5.0 points above Alder's" in words.headline(result)
    assert "that stands out most, and 1 other differs too" in words.headline(result)
    alone = compared(
        cells(
            ("Alder", "polo", 20, 2000.0),
            ("Birch", "polo", 60, 1000.0),
            ("Elm", "polo", 10, 1000.0),
        )
    )
    assert "and no other supplier differs clearly" in words.headline(alone)


def test_where_most_is_counted_in_standard_errors_not_in_points():
    result = compared(
        cells(
            # 2 points more of a rare defect say more than 3 of a common one.
            ("Alder", "pique polo", 5, 1000.0),
            ("Birch", "pique polo", 25, 1000.0),
            ("Alder", "polar fleece", 400, 1000.0),
            ("Birch", "polar fleece", 430, 1000.0),
            ("Alder", "twill", 100, 1000.0),
            ("Birch", "twill", 50, 1000.0),
        ),
        reference="Alder",
    )
    assert "Furthest up: pique polo on cut-away" in words.warnings(result)[-1]
