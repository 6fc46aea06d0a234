"""Control charts for counts.

Montgomery, Introduction to Statistical Quality Control (purchase orders, Table 7.4; circuit
boards and orange juice cans, 2nd ed. 1991 pp 155-182); NIST/SEMATECH e-Handbook 6.3.3.1 (wafers).
Tolerance 1e-6 relative: both sides evaluate one closed formula.
"""

import numpy as np
import pytest
from cases import load, positions

from logbook.kernels import limits


def test_p_chart_has_limits_for_each_sample_size():
    case = load("p_chart_purchase_orders")
    fit = limits.chart(count=case.inputs["defective"], exposure=case.inputs["n"], measure="pieces")
    case.check("center", fit.centre)
    case.check("ucl", fit.upper)
    case.check("lcl", fit.lower)
    assert positions(fit.beyond) == case.expected["points_beyond_limits_1based"]


def test_c_chart_does_not_flag_a_point_on_its_limit():
    case = load("c_chart_nist_wafers")
    fit = limits.chart(count=case.inputs["counts"], exposure=1, measure="events")
    case.check("center", fit.centre)
    case.check("ucl", fit.upper[0])
    case.check("lcl", fit.lower[0])
    assert fit.z[2] == 3.0
    assert positions(fit.beyond) == case.expected["points_beyond_limits_1based"]


def test_u_chart():
    case = load("u_chart_pcmanufact")
    fit = limits.chart(count=case.inputs["counts"], exposure=case.inputs["units"], measure="events")
    case.check("center", fit.centre)
    case.check("ucl", fit.upper[0])
    case.check("lcl", fit.lower[0])
    assert positions(fit.beyond) == case.expected["points_beyond_limits_1based"]


@pytest.mark.parametrize("name", ["np_chart_orangejuice2_new", "np_chart_given_standard"])
def test_np_chart_is_the_p_chart_times_n(name):
    case = load(name)
    n = case.inputs["n"]
    fit = limits.chart(
        count=case.inputs["defective"],
        exposure=n,
        measure="pieces",
        centre=case.inputs.get("standard_p"),
    )
    case.check("center", fit.centre * n)
    case.check("ucl", fit.upper * n)
    case.check("lcl", fit.lower * n)
    assert positions(fit.beyond) == case.expected["points_beyond_limits_1based"]


def test_given_standard_is_the_pooled_rate_of_an_earlier_stretch():
    """The same limits from a baseline of 1200 cans with 133 defective and the points after."""
    case = load("np_chart_given_standard")
    later = np.asarray(case.inputs["defective"])
    fit = limits.chart(
        count=[133, *later],
        exposure=[1200, *np.full(later.size, case.inputs["n"])],
        measure="pieces",
        baseline=np.arange(later.size + 1) == 0,
    )
    case.check("p_ucl", fit.upper[1])
