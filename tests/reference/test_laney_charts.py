"""Primed charts: Laney (2002), Quality Engineering 14:531-537.

Data: Mohammed et al. (2013), Quality and Safety in Health Care 22:362-368 (p'); bacteremia,
Capital Region of Denmark 2015-2016 (u'). Tolerance 1e-6 relative: one closed formula.
"""

from cases import load, positions

from logbook.kernels import limits


def test_p_prime_chart_of_huge_subgroups():
    case = load("laney_p_nhs_accidents")
    fit = limits.chart(
        count=case.inputs["defective"],
        exposure=case.inputs["n"],
        measure="pieces",
        spread="laney",
    )
    case.check("center", fit.centre)
    case.check("sigma_z", fit.sigma_z)
    case.check("z", fit.z * fit.sigma_z)
    case.check("ucl", fit.upper)
    case.check("lcl", fit.lower)
    assert positions(fit.beyond) == case.expected["points_beyond_limits_1based"]


def test_the_plain_p_chart_flags_most_of_them():
    case = load("laney_p_nhs_accidents")
    fit = limits.chart(count=case.inputs["defective"], exposure=case.inputs["n"], measure="pieces")
    assert positions(fit.beyond) == case.expected["classical_p_points_beyond"]
    assert fit.sigma_z == 1.0


def test_automatic_spread_takes_the_primed_chart_here():
    case = load("laney_p_nhs_accidents")
    choice = limits.choose_spread(
        count=case.inputs["defective"], exposure=case.inputs["n"], measure="pieces"
    )
    case.check("sigma_z", choice.sigma_z)
    assert choice.spread == "laney"
    assert "10.64 times as wide" in choice.reason


def test_u_prime_chart_narrows_where_asked_and_plain_is_chosen():
    case = load("laney_u_bacteremia")
    series = {"count": case.inputs["counts"], "exposure": case.inputs["exposure"]}
    fit = limits.chart(**series, measure="events", spread="laney")
    case.check("center", fit.centre)
    case.check("sigma_z", fit.sigma_z)
    case.check("ucl", fit.upper)
    case.check("lcl", fit.lower)
    assert limits.choose_spread(**series, measure="events").spread == "plain"
