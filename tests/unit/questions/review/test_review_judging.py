import math

import polars as pl
import pytest

from logbook.calendar_weeks import weeks_before
from logbook.questions.review.judging import judged_together
from logbook.questions.review.words.kinds import kind_sentence
from logbook.vocabulary.defects import DEFECT_KINDS, kind

WEEK = "2026-W42"


def weekly(**counts):
    """Long cells: for each kind the counts of weeks ending with the review week."""
    rows = []
    for name, series in counts.items():
        weeks = (*weeks_before(WEEK, len(series) - 1), WEEK)
        exposure = 1000.0 if kind(name).measure == "pieces" else 1e7
        rows += [
            {"kind": name, "week": week, "runs": 5, "exposure": exposure, "count": count}
            for week, count in zip(weeks, series, strict=True)
            if count is not None
        ]
    return pl.DataFrame(rows)


def one(series, name="gaps"):
    (judged,) = judged_together(weekly(**{name: series}), WEEK, [kind(name)])
    return judged


STEADY = [20, 23, 18, 21, 19, 22, 20, 17, 24, 20, 21, 19]


def test_many_looks_need_more_than_one_look_does():
    # The same week, alone and among 16 kinds of which the others are as usual.
    counts = [*STEADY, 35]
    alone = one(counts)
    others = {each.name: [*STEADY, 20] for each in DEFECT_KINDS if each.charged_to_setup} | {
        "gaps": counts
    }
    together = judged_together(
        weekly(**others), WEEK, [each for each in DEFECT_KINDS if each.charged_to_setup]
    )
    among = next(each for each in together if each.kind.name == "gaps")
    assert alone.verdict == "more_than_usual"
    assert among.p_value == alone.p_value
    assert among.q_value > alone.q_value
    assert among.verdict == "as_usual"
    assert among.watch


def test_a_watched_kind_is_told_with_the_doubt():
    counts = [*STEADY, 35]
    others = {each.name: [*STEADY, 20] for each in DEFECT_KINDS if each.charged_to_setup} | {
        "gaps": counts
    }
    together = judged_together(
        weekly(**others), WEEK, [each for each in DEFECT_KINDS if each.charged_to_setup]
    )
    among = next(each for each in together if each.kind.name == "gaps")
    assert kind_sentence(among, 16).endswith(
        "this week alone may be luck. Watch it: it passed the upper limit of its weekly chart. "
        "With 16 kinds looked at every week, luck alone does that to one of them now and then."
    )


def test_restless_weeks_before_ask_for_more():
    restless = [5, 40, 12, 33, 8, 45, 15, 28, 6, 38, 10, 30]
    assert sum(restless) >= sum(STEADY)
    assert one([*restless, 42]).verdict == "as_usual"
    assert one([*STEADY, 42]).verdict == "more_than_usual"


def test_a_slow_rise_is_watched_before_any_one_week_shows_it():
    slow = [18, 19, 20, 17, 18, 19, 18, 20, 17, 18, 19, 18, 23, 22, 23, 24, 22, 23, 24, 23]
    judged = one(slow)
    assert "run_of_8" in judged.signals
    assert (judged.direction, judged.in_a_row, judged.watch) == ("above", 8, True)
    assert "above the usual rate for 8 weeks in a row" in kind_sentence(judged, 1)


def test_a_long_good_stretch_is_said_to_be_good_news():
    fall = [30, 31, 29, 30, 32, 30, 29, 31, 30, 31, 30, 30, 24, 25, 24, 25, 24, 25, 24, 25]
    judged = one(fall)
    assert judged.direction == "below"
    assert "below the usual rate for 8 weeks in a row: good news" in kind_sentence(judged, 1)


def test_a_rare_kind_is_not_judged_by_the_week():
    judged = one([0, 0, 1, 0, 0, 0, 1, 0, 0, 0, 0, 0, 1])
    assert judged.expected == pytest.approx(2 / 12)
    assert judged.verdict == "cannot_say"
    assert kind_sentence(judged, 1).endswith("too few in a week to tell a change from luck.")


def test_a_rare_kind_that_explodes_is_called():
    assert one([0, 0, 1, 0, 0, 0, 1, 0, 0, 0, 0, 0, 9]).verdict == "more_than_usual"


def test_a_first_one_ever_is_no_alarm():
    judged = one([0] * 12 + [1])
    assert judged.verdict == "cannot_say"
    assert judged.signals == ()
    assert not judged.watch


def test_a_kind_not_recorded_this_week_cannot_be_judged():
    judged = one([*STEADY, None])
    assert judged.verdict == "cannot_say"
    assert math.isnan(judged.rate)
    assert kind_sentence(judged, 1).endswith("nothing recorded this week, so nothing can be said.")


def test_a_kind_never_recorded_is_left_out():
    assert judged_together(weekly(gaps=STEADY), WEEK, [kind("looping")]) == ()


def test_the_rate_before_is_that_of_twelve_weeks_only():
    judged = one([90] * 10 + [20] * 12 + [20])
    assert (judged.count_before, judged.weeks_before) == (240, 12)


def test_weeks_after_the_one_reviewed_do_not_count():
    later = weekly(gaps=[*STEADY, 20])
    more = pl.concat(
        [later, later.tail(1).with_columns(pl.lit("2026-W43").alias("week"), count=pl.lit(500))],
        how="vertical_relaxed",
    )
    kinds = [kind("gaps")]
    assert judged_together(more, WEEK, kinds) == judged_together(later, WEEK, kinds)


def test_events_say_their_rates_per_100000_stitches():
    judged = one([*STEADY, 20], "thread_breaks")
    assert kind_sentence(judged, 1) == (
        "Thread breaks: 20 in 10,000,000 stitches sewn (0.20 per 100,000 stitches, 95 % interval "
        "0.12 to 0.31), against 0.20 per 100,000 stitches in the 12 weeks before (244 in "
        "120,000,000 stitches sewn, 95 % interval 0.18 to 0.23): no more than the usual up and "
        "down."
    )
