import json

import polars as pl
import pytest
from weeks_of_runs import WEEK, plain_week, plain_weeks, reviewed

from logbook.errors import AnalysisError
from logbook.questions.review.data import asked_window
from logbook.questions.review.words import headline, in_full, notes
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD

CONTRACT = {
    "week",
    "from",
    "to",
    "runs",
    "pieces_inspected",
    "stitches_sewn",
    "defects",
    "any_defect",
    "actions",
}
OF_A_KIND = {
    "kind",
    "measure",
    "count",
    "exposure",
    "rate",
    "interval",
    "rate_before",
    "interval_before",
    "share_of_cost",
    "cost",
    "signals",
    "per_100k_stitches",
}


def with_gaps(counts, **changes):
    runs = plain_week(WEEK, **changes)
    for run, count in zip(runs, counts, strict=False):
        run["gaps"] = count
        run["pieces_defective"] = max(count, run["pieces_defective"])
    return runs


def defect(result, name):
    return next(row for row in result.as_json()["defects"] if row["kind"] == name)


def test_a_plain_week_is_as_usual(tmp_path):
    result, _ = reviewed(tmp_path, plain_weeks(13) + plain_week(WEEK))
    answer = result.as_json()
    assert set(answer) >= CONTRACT
    assert (answer["from"], answer["to"]) == ("2026-10-12", "2026-10-18")
    assert (answer["runs"], answer["pieces_inspected"]) == (10, 1000)
    assert answer["stitches_sewn"] == 5_000_000.0
    gaps = defect(result, "gaps")
    assert set(gaps) >= OF_A_KIND
    assert (gaps["count"], gaps["exposure"], gaps["rate"]) == (10, 1000.0, 0.01)
    assert (gaps["count_before"], gaps["rate_before"], gaps["weeks_before"]) == (120, 0.01, 12)
    # By hand: (p + z²/2n ± z sqrt(p (1 - p) / n + z²/4n²)) / (1 + z²/n) with z = 1.959964.
    assert gaps["interval"] == pytest.approx([0.0054408, 0.0183095], abs=1e-6)
    assert {row["verdict"] for row in answer["defects"]} == {"as_usual"}
    assert answer["actions"] == []
    assert "No kind of defect came up more than usual." in in_full(result)


def test_a_bad_week_is_more_than_luck(tmp_path):
    bad = with_gaps([12, 9, 8, 1, 1, 1, 1, 1, 3, 4])
    result, _ = reviewed(tmp_path, plain_weeks(13) + bad)
    gaps = defect(result, "gaps")
    assert gaps["verdict"] == "more_than_usual"
    assert "beyond_limits" in gaps["signals"]
    assert gaps["says"] == (
        "Gaps between areas: 41 of 1,000 pieces inspected (4.1 %, 95 % interval 3.0 to 5.5 %), "
        "against 1.0 % in the 12 weeks before (120 of 12,000 pieces inspected, 95 % interval 0.8 "
        "to 1.2 %): more than luck."
    )
    assert gaps["says"] in in_full(result)
    (action,) = [each for each in result.actions if each.kind == "gaps"]
    assert action.because == "more_than_usual"
    assert "common practice" in action.says
    assert result.as_json()["actions"][0] == action.says
    assert any("Keep hands" in caution for caution in result.cautions)


def test_a_good_week_is_said_to_be_one(tmp_path):
    before = [run | {"puckering": 4, "pieces_defective": 5} for run in plain_weeks(12)]
    result, _ = reviewed(tmp_path, before + plain_week(WEEK))
    puckering = defect(result, "puckering")
    assert puckering["verdict"] == "less_than_usual"
    assert "good news, if it was judged as strictly as before" in puckering["says"]
    assert "Less than usual: Puckering." in in_full(result)


def test_the_order_is_that_of_cost_and_shares_add_up(tmp_path):
    runs = plain_weeks(5) + plain_week(WEEK)
    result, _ = reviewed(tmp_path, runs)
    # Five spoiled pieces at 20, each in a run with one gap and one pucker: half each, 50 and 50;
    # 20 thread breaks of one minute at 0.5 + 6/60 = 12.
    costs = {row["kind"]: row["cost"] for row in result.as_json()["defects"]}
    assert costs == pytest.approx({"gaps": 50.0, "puckering": 50.0, "thread_breaks": 12.0})
    assert list(costs) == ["gaps", "puckering", "thread_breaks"]
    shares = [row["share_of_cost"] for row in result.as_json()["defects"]]
    assert sum(shares) == pytest.approx(1.0)
    assert result.as_json()["losses"]["cost"] == pytest.approx(112.0)
    assert result.as_json()["losses"]["pieces_spoiled"] == 5
    assert "Gaps between areas cost most: EUR 50.00, 45 % of the cost of defects" in (
        in_full(result)
    )


def test_events_carry_the_rate_that_is_read(tmp_path):
    result, _ = reviewed(tmp_path, plain_weeks(5) + plain_week(WEEK))
    breaks = defect(result, "thread_breaks")
    assert breaks["measure"] == "events"
    assert breaks["rate"] == pytest.approx(20 / 5_000_000)
    assert breaks["per_100k_stitches"] == pytest.approx(0.4)


def test_pieces_with_any_defect_are_counted_once(tmp_path):
    result, _ = reviewed(tmp_path, plain_weeks(5) + plain_week(WEEK))
    pieces = result.as_json()["any_defect"]
    assert (pieces["count"], pieces["exposure"], pieces["rate"]) == (15, 1000.0, 0.015)
    assert pieces["interval"][0] < 0.015 < pieces["interval"][1]


def test_faults_from_the_mill_are_kept_apart(tmp_path):
    result, _ = reviewed(tmp_path, plain_weeks(5) + plain_week(WEEK))
    answer = result.as_json()
    assert [row["kind"] for row in answer["kept_apart"]] == ["fabric_faults"]
    assert "fabric_faults" not in [row["kind"] for row in answer["defects"]]
    assert answer["kept_apart"][0]["count"] == 10


def test_an_empty_week_says_so(tmp_path):
    result, _ = reviewed(tmp_path, plain_weeks(5))
    answer = result.as_json()
    assert answer["runs"] == 0
    assert "no runs are recorded" in in_full(result)
    assert {row["rate"] for row in answer["defects"]} == {None}
    assert answer["any_defect"]["rate"] is None
    assert {row["verdict"] for row in answer["defects"]} == {"cannot_say"}
    assert answer["losses"]["cost"] is None
    json.dumps(answer, allow_nan=False)


def test_runs_that_record_no_kind_are_said_to_say_little(tmp_path):
    nothing = dict.fromkeys(("gaps", "puckering", "thread_breaks", "fabric_faults"))
    result, _ = reviewed(tmp_path, plain_week(WEEK, **nothing))
    assert result.defects == ()
    assert headline(result).startswith("Too little was recorded in this week to say how any kind")


def test_an_empty_book_says_so(tmp_path):
    result, _ = reviewed(tmp_path, [])
    answer = result.as_json()
    assert answer["defects"] == []
    assert answer["any_defect"] == {
        "count": 0,
        "exposure": 0.0,
        "rate": None,
        "interval": [None, None],
    }
    assert in_full(result).endswith("so there is nothing to review.")
    assert result.table().is_empty()


def test_a_first_week_has_nothing_to_compare_with(tmp_path):
    result, _ = reviewed(tmp_path, plain_week(WEEK))
    gaps = defect(result, "gaps")
    assert gaps["rate_before"] is None
    assert gaps["says"].endswith("nothing recorded before to compare it with.")
    assert any("cannot be said yet" in note for note in notes(result))


def test_three_weeks_before_are_too_few(tmp_path):
    result, _ = reviewed(tmp_path, plain_weeks(3) + plain_week(WEEK))
    gaps = defect(result, "gaps")
    assert gaps["verdict"] == "cannot_say"
    assert "in the 3 weeks with runs of the 12 before" in gaps["says"]
    assert "too early to say" in gaps["says"]


def test_a_run_that_is_held_is_never_left_out(tmp_path):
    runs = plain_week(WEEK)
    runs[3] |= {"needle_breaks": 1, "needle_parts_found": False}
    runs[4] |= {"needle_breaks": 1, "needle_parts_found": True}
    result, _ = reviewed(tmp_path, plain_weeks(5) + runs)
    (held,) = result.as_json()["held"]
    assert held["run_ref"] == "2026-W42-3"
    assert held["caution"] == BROKEN_NEEDLE_HELD
    assert "1 is held until every part of a broken needle is found" in in_full(result)
    assert any("find every part of the needle" in caution for caution in result.cautions)


def test_runs_held_since_earlier_weeks_are_remembered(tmp_path):
    before = plain_weeks(5)
    before[7] |= {"needle_breaks": 1, "needle_parts_found": False}
    result, _ = reviewed(tmp_path, before + plain_week(WEEK))
    assert result.held == ()
    (held,) = result.as_json()["held_in_other_weeks"]
    assert (held["run_ref"], held["caution"]) == (before[7]["run_ref"], BROKEN_NEEDLE_HELD)


def test_what_was_assumed_is_said(tmp_path):
    runs = plain_week(WEEK)
    runs[0] |= {"pieces_inspected": None}
    runs[1] |= {"pieces_defective": None}
    result, _ = reviewed(tmp_path, plain_weeks(5) + runs)
    assert any(note.startswith("In 1 run pieces inspected were not") for note in notes(result))
    assert any(note.startswith("In 1 run pieces with any defect") for note in notes(result))


def test_without_losses_the_order_is_by_count(tmp_path):
    nothing = {"pieces_spoiled": None, "pieces_reworked": None, "rework_minutes": None}
    result, _ = reviewed(tmp_path, plain_weeks(5) + plain_week(WEEK, **nothing))
    assert result.ordered_by == "count"
    assert [row["kind"] for row in result.as_json()["defects"]] == [
        "thread_breaks",
        "gaps",
        "puckering",
    ]
    assert "Thread breaks came up most often: 20 events." in in_full(result)
    assert any("fill in pieces_spoiled" in note for note in notes(result))


def test_losses_of_runs_that_name_no_defect_are_told(tmp_path):
    runs = plain_week(WEEK)
    runs[1] |= {"gaps": 0, "puckering": 0, "pieces_spoiled": 3, "pieces_defective": 3}
    result, _ = reviewed(tmp_path, plain_weeks(5) + runs)
    assert result.losses.unassigned_cost == pytest.approx(60.0)
    assert any(note.startswith("EUR 60.00 of spoilage and rework") for note in notes(result))


def test_rework_without_minutes_costs_the_usual_minutes(tmp_path):
    untimed = {"pieces_spoiled": 0, "pieces_reworked": 1, "rework_minutes": None}
    result, _ = reviewed(tmp_path, plain_weeks(5) + plain_week(WEEK, **untimed))
    # 10 pieces of 8 minutes at 0.5, and 20 thread breaks at 0.6.
    assert result.losses.cost == pytest.approx(40.0 + 12.0)
    assert result.losses.unassigned_cost == pytest.approx(0.0)


def test_assumed_costs_are_said_to_be(tmp_path):
    result, _ = reviewed(tmp_path, plain_weeks(5) + plain_week(WEEK), settings="")
    assert any("not this shop's" in note for note in notes(result))


def test_a_kind_of_the_shops_own_is_reviewed_too(tmp_path):
    own = '[[defect_kind]]\nname = "rhinestones"\nlabel = "Rhinestone off"\nmeasure = "pieces"\n'
    runs = [run | {"rhinestones": 0} for run in plain_weeks(12)]
    result, _ = reviewed(tmp_path, runs + plain_week(WEEK, rhinestones=4), settings=own)
    row = defect(result, "rhinestones")
    assert (row["verdict"], row["rate_before"]) == ("more_than_usual", 0.0)
    assert row["signals"] == []
    (action,) = result.actions
    assert "what they have in common" in action.says


def test_the_answer_is_json_and_the_table_has_a_row_a_kind(tmp_path):
    result, _ = reviewed(tmp_path, plain_weeks(13) + with_gaps([12, 9, 8]))
    json.dumps(result.as_json(), allow_nan=False)
    table = result.table()
    assert table["kind"].to_list() == [
        *(row["kind"] for row in result.as_json()["defects"]),
        "fabric_faults",
    ]
    assert table.filter(pl.col("kept_apart")).height == 1


def test_other_spellings_of_the_week_are_understood(tmp_path):
    result, _ = reviewed(tmp_path, plain_week(WEEK), week="2026w42")
    assert result.week == "2026-W42"
    assert result.runs == 10


def test_a_week_that_is_none_is_refused(tmp_path):
    with pytest.raises(AnalysisError, match="no week 54"):
        reviewed(tmp_path, plain_week(WEEK), week="2026-W54")


def test_no_words_of_the_statistician_are_read_aloud(tmp_path):
    result, _ = reviewed(tmp_path, plain_weeks(13) + with_gaps([12, 9, 8]))
    said = " ".join(
        [
            in_full(result),
            *notes(result),
            *result.as_json()["actions"],
            *(row["says"] for row in result.as_json()["defects"]),
            *(run.why for run in result.look_at),
        ]
    ).lower()
    words = ("sigma", "laney", "p-value", "q-value", "poisson", "wilson", "hochberg", "deviance")
    assert [word for word in words if word in said] == []


def test_the_window_asked_for_covers_the_chart():
    since, until = asked_window(WEEK)
    assert (since.isoformat(), until.isoformat()) == ("2026-04-13", "2026-10-18")
