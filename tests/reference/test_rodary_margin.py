"""A new treatment no worse by more than 10 points.

Rodary, Com-Nougue & Tournade (1989), Stat Med 8:593-598 (nephroblastoma, 83 of 88 against 69 of
76 successes, here as failures); exact p-value of Chan (1998), Stat Med 17:1403-1413.
"""

import pytest
from cases import load
from margins import check_no_worse, exact_p_no_worse, score_interval

from logbook.kernels import intervals


def test_score_interval_against_the_margin_is_the_score_test():
    check_no_worse(load("ni_rodary"))


def test_exact_p_value_with_tables_in_the_order_of_our_interval():
    case = load("ni_rodary")
    case.check("exact_unconditional_p_fm_order", exact_p_no_worse(case))


def test_every_interval_says_no_worse_within_the_margin():
    case = load("ni_rodary")
    given = case.inputs
    newcombe = intervals.proportion_difference(
        count_a=given["x1"], trials_a=given["n1"], count_b=given["x2"], trials_b=given["n2"]
    )
    assert newcombe.upper < given["margin"]
    assert score_interval(case, 0.95).upper < given["margin"]
    assert newcombe.upper == pytest.approx(score_interval(case, 0.95).upper, abs=0.01)
