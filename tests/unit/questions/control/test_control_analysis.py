import json
import math

import polars as pl
import pytest

from logbook.errors import AnalysisError, TooLittleData
from logbook.questions.control import analyse as control
from logbook.questions.control.words import headline
from logbook.vocabulary.defects import kind

GAPS = kind("gaps")
BREAKS = kind("thread_breaks")


def cells(counts, exposure=1000.0, *, by="week"):
    label = {"week": "2026-W{:02d}", "month": "2026-{:02d}", "day": "2026-01-{:02d}"}[by]
    exposures = exposure if isinstance(exposure, list) else [exposure] * len(counts)
    return pl.DataFrame(
        {
            by: [label.format(number) for number in range(1, len(counts) + 1)],
            "runs": [10] * len(counts),
            "exposure": exposures,
            "count": counts,
        }
    )


STEADY = [20, 23, 18, 21, 19, 22, 20, 17, 24, 20, 21, 19, 22, 18, 20, 21, 19, 23, 20, 18, 22, 20]


def test_a_steady_defect_has_no_signal_and_says_what_its_rate_rests_on():
    result = control.analyse(cells(STEADY), kind=GAPS, by="week")
    assert result.signals == ()
    assert result.notes == ()
    assert headline(result) == (
        "Gaps between areas: 447 of 22,000 pieces inspected (2.0 %, 95 % interval 1.9 to 2.2 %) "
        "over 22 weeks. No week stands out from the usual up and down."
    )


def test_a_bad_week_is_named_with_its_limit():
    result = control.analyse(
        cells([*STEADY, 60]), kind=GAPS, by="week", baseline=("2026-W01", "2026-W22")
    )
    (signal,) = result.signals
    assert (signal.label, signal.rule, signal.direction) == ("2026-W23", "beyond_limits", "above")
    # Centre c = 447 in 22,000; limit c + 3 sqrt(c (1 - c) / 1000) = 3.37 %.
    assert signal.says == (
        "Week 2026-W23: 60 of 1,000 pieces inspected (6.0 %), above the limit of 3.4 %."
    )
    assert "1 week stands out; the latest: Week 2026-W23" in headline(result)


def test_a_good_stretch_is_good_news():
    counts = [*STEADY, 12, 13, 12, 14, 13, 12, 13, 14]
    baseline = ("2026-W01", "2026-W22")
    result = control.analyse(cells(counts), kind=GAPS, by="week", baseline=baseline)
    run = [signal for signal in result.signals if signal.rule == "run_of_8"]
    assert run[-1].direction == "below"
    assert run[-1].says.endswith(
        "9 weeks in a row below the usual rate: good news, if it was judged as strictly as before."
    )


def test_the_length_of_a_run_is_counted():
    counts = [*STEADY, *[25, 26, 25, 27, 25, 26, 25, 27, 25, 26]]
    baseline = ("2026-W01", "2026-W22")
    result = control.analyse(cells(counts), kind=GAPS, by="week", baseline=baseline)
    last = [signal for signal in result.signals if signal.rule == "run_of_8"][-1]
    assert last.says == "Week 2026-W32: 10 weeks in a row above the usual rate."


def test_patterns_short_of_the_limits_are_said_in_words():
    counts = [*STEADY, 32, 20, 32, 28, 28]
    result = control.analyse(cells(counts), kind=GAPS, by="week", baseline=("2026-W01", "2026-W22"))
    said = " ".join(signal.says for signal in result.signals)
    assert "Week 2026-W25: two of the last three weeks far above the usual rate." in said
    assert "Week 2026-W27: four of the last five weeks clearly above the usual rate." in said


def test_the_baseline_sets_centre_and_only_its_points():
    result = control.analyse(
        cells([*STEADY, 90, 90]), kind=GAPS, by="week", baseline=("2026-W01", "2026-W22")
    )
    assert result.centre == pytest.approx(447 / 22_000)
    assert result.points["in_baseline"].to_list() == [True] * 22 + [False] * 2
    assert result.as_json()["baseline"] == {
        "from": "2026-W01",
        "to": "2026-W22",
        "points": 22,
        "count": 447,
        "exposure": 22_000.0,
    }


def test_runs_are_put_in_order_of_day_and_reference():
    runs = pl.DataFrame(
        {
            "run_ref": ["B", "A", "C"],
            "day": ["2026-01-05", "2026-01-06", "2026-01-05"],
            "runs": [1, 1, 1],
            "exposure": [100.0, 100.0, 100.0],
            "count": [1, 2, 3],
        }
    )
    result = control.analyse(runs, kind=GAPS, by="run", baseline=("2026-01-05", "2026-01-05"))
    assert result.points["label"].to_list() == ["B", "C", "A"]
    assert result.points["in_baseline"].to_list() == [True, True, False]
    assert [point["day"] for point in result.as_json()["points"]][-1] == "2026-01-06"


def test_more_factors_are_pooled_over():
    split = pl.concat([cells(STEADY).with_columns(machine=pl.lit(name)) for name in ("M1", "M2")])
    result = control.analyse(split, kind=GAPS, by="week")
    assert result.points["count"].to_list() == [2 * count for count in STEADY]


def test_one_point_still_answers():
    result = control.analyse(cells([3], 120.0), kind=GAPS, by="week", spread="laney")
    assert result.chart == "p"
    assert result.spread_reason == "Plain limits: one point does not show how points vary."
    assert headline(result).endswith("over 1 week; there is nothing to compare it with yet.")
    assert result.notes[0].startswith("There is one week only")


def test_few_points_make_provisional_limits():
    result = control.analyse(cells(STEADY[:6]), kind=GAPS, by="week")
    assert result.notes == ("The limits rest on 6 weeks; under about 20 they are provisional.",)


def test_a_rare_defect_is_better_looked_at_over_longer_periods():
    result = control.analyse(cells([0, 1] * 11), kind=GAPS, by="week")
    assert result.notes == (
        "In a usual week only 0.5 of these are expected, so that a few more can pass the upper "
        "limit by luck. Look by month as well.",
    )
    monthly = control.analyse(cells([0, 1] * 6, by="month"), kind=GAPS, by="month")
    assert monthly.notes[-1].endswith("by luck.")


def test_a_first_one_ever_passes_limits_without_width_and_the_note_says_so():
    result = control.analyse(
        cells([0, 0, 0, 1]), kind=GAPS, by="week", baseline=("2026-W01", "2026-W03")
    )
    assert result.points["signals"].to_list()[-1] == ["beyond_limits"]
    assert any("the limits have no width" in note for note in result.notes)


def test_weeks_that_differ_by_more_than_counting_get_wider_limits_and_it_is_said():
    restless = [20, 60, 10, 55, 25, 70, 12, 50, 30, 65, 15, 48, 22, 58, 11, 66, 28, 52, 18, 61]
    result = control.analyse(cells(restless), kind=GAPS, by="week")
    assert result.chart == "p_prime"
    assert result.sigma_z > 1
    assert "more between weeks than counting explains" in headline(result)
    plain = control.analyse(cells(restless), kind=GAPS, by="week", spread="plain")
    assert plain.chart == "p"
    assert plain.sigma_z == 1
    assert plain.spread_reason == "Plain limits, as asked for."


def test_limits_narrower_than_counting_are_owned_up_to():
    result = control.analyse(cells([20] * 10 + [21] * 10), kind=GAPS, by="week", spread="laney")
    assert result.sigma_z < 1
    assert result.notes[-1].startswith("The limits asked for are narrower")


def test_events_are_charted_per_stitch_with_the_readable_rate_beside():
    result = control.analyse(cells(STEADY, 400_000.0), kind=BREAKS, by="week")
    answer = result.as_json()
    assert answer["chart"] == "u"
    assert answer["points"][0]["rate"] == pytest.approx(20 / 400_000)
    assert answer["points"][0]["per_100k_stitches"] == pytest.approx(5.0)
    assert "per 100,000 stitches" in headline(result)


def test_the_answer_keeps_the_contract():
    answer = control.analyse(cells([*STEADY, 0], [1000.0] * 22 + [0.0]), kind=GAPS, by="week")
    answer = answer.as_json()
    contract = {"kind", "chart", "by", "centre", "sigma_z", "points"}
    assert contract <= set(answer)
    point = answer["points"][0]
    assert {"label", "exposure", "count", "rate", "lower", "upper", "signals"} <= set(point)
    # A week without exposure has no rate and no limits: null, which JSON can hold.
    last = answer["points"][-1]
    assert (last["rate"], last["lower"], last["upper"], last["signals"]) == (None, None, None, [])
    json.dumps(answer, allow_nan=False)


def test_the_table_holds_a_row_a_point():
    table = control.analyse(cells(STEADY), kind=GAPS, by="week").table()
    assert table.height == 22
    assert {"label", "rate", "lower", "upper", "z", "signals"} <= set(table.columns)


def test_nothing_inspected_is_too_little():
    with pytest.raises(TooLittleData) as caught:
        control.analyse(cells([5]).clear(), kind=GAPS, by="week")
    assert caught.value.unit == "pieces inspected"
    assert "no pieces inspected" in caught.value.message


def test_a_baseline_without_runs_is_too_little():
    with pytest.raises(TooLittleData, match="Nothing was recorded from 2025-W01"):
        control.analyse(cells(STEADY), kind=GAPS, by="week", baseline=("2025-W01", "2025-W09"))


def test_a_baseline_backwards_is_refused():
    with pytest.raises(AnalysisError, match="before it begins"):
        control.analyse(cells(STEADY), kind=GAPS, by="week", baseline=("2026-W09", "2026-W01"))


def test_cells_of_another_grouping_are_refused():
    with pytest.raises(AnalysisError, match="no column 'month'"):
        control.analyse(cells(STEADY), kind=GAPS, by="month")


def test_no_words_of_the_statistician_in_sentences():
    result = control.analyse(cells([*STEADY, 60]), kind=GAPS, by="week", spread="laney")
    said = " ".join([headline(result), *result.notes, *(s.says for s in result.signals)]).lower()
    assert not any(word in said for word in ("sigma", "laney", "p-value", "poisson"))
    assert not math.isnan(result.centre)
