import json
import math

import pytest
from supplier_cells import REVERSAL, cells, compared, noted, row_of

from logbook.errors import AnalysisError, TooLittleData
from logbook.questions.suppliers import words
from logbook.vocabulary.defects import ANY, kind


def test_rows_hold_what_the_contract_names():
    answer = compared(REVERSAL, reference="Alder").as_json()
    assert {"defect", "backing", "reference", "margin", "level", "strata", "suppliers"} <= set(
        answer
    )
    alder, birch = answer["suppliers"]
    assert (alder["supplier"], alder["mantel_haenszel"]) == ("Alder", None)
    assert {name: birch[name] for name in ("runs", "lots", "pieces_inspected", "count")} == {
        "runs": 78,
        "lots": 1,
        "pieces_inspected": 3800,
        "count": 150,
    }
    assert birch["crude_rate"] == pytest.approx(150 / 3800)
    assert birch["crude_interval"][0] < 150 / 3800 < birch["crude_interval"][1]
    # Weights of the two fabrics in the Mantel-Haenszel difference: n1 n0 / (n1 + n0).
    weights = 3000 * 1000 / 4000, 1000 * 2800 / 3800
    expected = (weights[0] * (0.01 - 0.02) + weights[1] * (0.05 - 0.06)) / sum(weights)
    assert birch["mantel_haenszel"]["risk_difference"] == pytest.approx(expected)
    assert set(birch["mantel_haenszel"]) >= {
        "odds_ratio",
        "odds_ratio_interval",
        "risk_ratio",
        "risk_ratio_interval",
        "risk_difference_interval",
        "homogeneity_p",
    }
    stratum = answer["strata"][0]
    assert (stratum["fabric"], stratum["supplier"], stratum["runs"]) == (
        "jersey T-shirt",
        "Alder",
        20,
    )
    assert stratum["rate"] == pytest.approx(0.06)
    json.dumps(answer, allow_nan=False)


def test_a_clear_crude_difference_that_the_jobs_explain_is_wiped_out():
    result = compared(
        cells(
            ("Alder", "pique polo", 60, 3000.0),
            ("Alder", "jersey T-shirt", 60, 1000.0),
            ("Birch", "pique polo", 20, 1000.0),
            ("Birch", "jersey T-shirt", 180, 3000.0),
        ),
        reference="Alder",
    )
    assert row_of(result, "Birch")["crude_misleads"] is True
    assert "there is no clear difference: it is level with Alder's" in words.warnings(result)[0]
    assert "that is within luck" in words.headline(result)


def test_small_differences_either_side_of_zero_are_luck():
    # Crude 4.06 % against 4.50 %, on each fabric 0.1 points more.
    result = compared(
        cells(
            ("Alder", "pique polo", 30, 1000.0),
            ("Alder", "jersey T-shirt", 60, 1000.0),
            ("Birch", "pique polo", 65, 2100.0),
            ("Birch", "jersey T-shirt", 61, 1000.0),
        ),
        reference="Alder",
    )
    check = result.suppliers[1].check
    assert check.crude.estimate * check.like_for_like.estimate < 0
    assert words.warnings(result) == ()


def test_a_wide_like_for_like_interval_alone_wipes_nothing_out():
    result = compared(
        cells(
            ("Alder", "pique polo", 20, 2000.0),
            ("Alder", "twill", 1, 40.0),
            ("Birch", "jersey T-shirt", 80, 2000.0),
            ("Birch", "twill", 2, 40.0),
        ),
        reference="Alder",
    )
    assert result.suppliers[1].check.crude.excludes_zero
    assert not result.suppliers[1].crude_misleads
    assert row_of(result, "Birch")["like_for_like_share"] == pytest.approx(40 / 2040)
    assert noted(result, "speaks for 2 % of Birch's 2,040 pieces")


def test_the_most_inspected_supplier_is_the_reference_unless_named():
    assert compared(REVERSAL).reference == "Alder"
    assert compared(REVERSAL, reference=" birch").reference == "Birch"


def test_an_unknown_reference_names_those_there_are():
    with pytest.raises(AnalysisError, match="called 'Yew'") as caught:
        compared(REVERSAL, reference="Yew")
    assert caught.value.hint == "Suppliers here: Alder, Birch."
    with pytest.raises(AnalysisError) as caught:
        compared(REVERSAL, reference="Aldr")
    assert caught.value.hint == "Did you mean Alder? Suppliers here: Alder, Birch."


def test_margins():
    assert compared(REVERSAL).margin == 0.005
    assert compared(REVERSAL, kind=ANY).margin == 0.01
    assert compared(REVERSAL, margin=0.02).margin == 0.02
    with pytest.raises(AnalysisError, match="does not matter"):
        compared(REVERSAL, margin=-0.01)


def test_one_backing_only():
    frame = cells(
        ("Alder", "pique polo", 20, 1000.0),
        ("Birch", "pique polo", 21, 1000.0),
        ("Birch", "pique polo", 90, 1000.0, {"backing": "tear_away"}),
    )
    result = compared(frame, backing="cut_away")
    assert row_of(result, "Birch")["count"] == 21
    # Birch has sewn most over all backings: it is what Alder is set against on each.
    assert result.reference == "Birch"
    assert words.headline(result).startswith("On the same jobs on cut-away, Alder's")
    with pytest.raises(AnalysisError, match="'none'"):
        compared(frame, backing="none")
    with pytest.raises(TooLittleData, match="on sheer mesh"):
        compared(frame, backing="sheer_mesh")


def test_what_names_no_supplier_or_has_no_backing_is_left_out_and_counted():
    frame = cells(
        ("Alder", "pique polo", 20, 1000.0),
        ("Birch", "pique polo", 21, 1000.0),
        (None, "pique polo", 5, 300.0, {"runs": 4}),
        (None, "twill", 1, 50.0, {"backing": "none"}),
    )
    result = compared(frame)
    left_out = [note for note in words.notes(result) if note.startswith("Left out")]
    assert left_out == [
        "Left out: 300 pieces inspected in 4 runs, as their backing supplier is not recorded.",
        "Left out: 50 pieces inspected in 1 run, as they were sewn without backing.",
    ]
    assert sum(row.counted.exposure for row in result.suppliers) == 2000.0


def test_nothing_at_all_is_too_little():
    with pytest.raises(TooLittleData, match="Puckering: no pieces inspected"):
        compared(cells())


def test_suppliers_without_a_common_job_are_not_comparable():
    result = compared(
        cells(("Alder", "pique polo", 20, 1000.0), ("Birch", "jersey T-shirt", 40, 900.0))
    )
    row = row_of(result, "Birch")
    assert row["mantel_haenszel"]["odds_ratio"] is None
    assert row["mantel_haenszel"]["strata"] == 0
    assert row["like_for_like_share"] == 0
    assert noted(result, "Birch and Alder are not comparable")
    assert words.headline(result).startswith("No supplier can be compared with Alder like for like")
    assert words.sentences(result)[1].startswith(
        "Birch cannot be compared with Alder like for like"
    )


def test_without_any_defects_no_difference_can_be_sure():
    result = compared(cells(("Alder", "polo", 0, 500.0), ("Birch", "polo", 0, 400.0)))
    check = row_of(result, "Birch")["mantel_haenszel"]
    assert (check["odds_ratio"], check["risk_difference_interval"]) == (None, None)
    assert "interval not known" in words.sentences(result)[1]
    assert noted(result, "gives no interval")


def test_events_are_said_per_stitch():
    result = compared(
        cells(("Alder", "polo", 300, 1e7), ("Birch", "polo", 420, 1e7)),
        kind=kind("thread_breaks"),
        margin=0.01,
    )
    row = row_of(result, "Birch")
    assert (row["pieces_inspected"], row["stitches_sewn"]) == (None, 1e7)
    assert row["per_100k_stitches"] == pytest.approx(4.2)
    assert set(row["mantel_haenszel"]) >= {
        "rate_ratio",
        "rate_ratio_interval",
        "rate_difference",
        "rate_difference_interval",
    }
    assert "odds_ratio" not in row["mantel_haenszel"]
    assert result.margin is None
    assert "1.2 per 100,000 stitches above Alder's (95 % interval" in words.sentences(result)[1]
    assert noted(result, "a margin in points does not apply")


def test_cells_of_many_kinds_are_sorted_out():
    frame = REVERSAL.with_columns(kind=REVERSAL["fabric"].replace_strict({}, default="puckering"))
    doubled = frame.vstack(frame.with_columns(kind=frame["kind"].str.replace("puckering", "gaps")))
    assert compared(doubled).as_json() == compared(REVERSAL).as_json()


def test_cells_that_are_not_grouped_as_needed_are_refused():
    with pytest.raises(AnalysisError, match="'backing_lot'"):
        compared(REVERSAL.drop("backing_lot"))


def test_the_table_holds_the_plain_check():
    table = compared(REVERSAL, reference="Alder").table()
    assert table["supplier"].to_list() == ["Alder", "Birch"]
    assert table["check_difference"].to_list()[0] is None
    lower, upper = table["check_lower"][1], table["check_upper"][1]
    assert lower < table["check_difference"][1] < upper < 0
    assert math.isclose(table["crude_rate"][0], 0.03)


def test_a_crude_difference_of_events_has_a_width_where_one_side_saw_none():
    result = compared(
        cells(("Alder", "polo", 0, 1e6), ("Birch", "twill", 10, 1e6)),
        kind=kind("thread_breaks"),
        reference="Alder",
    )
    lower, upper = result.suppliers[1].check.crude.interval
    # Garwood's table: 10 events 4.795 to 18.390, none 0 to 3.689; squared and added.
    assert lower * 1e6 == pytest.approx(10 - math.hypot(10 - 4.795, 3.689), abs=1e-3)
    assert upper * 1e6 == pytest.approx(18.390, abs=1e-3)
