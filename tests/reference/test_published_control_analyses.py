"""Published control charts through the analysis: same limits, named points, plain words.

Montgomery, Introduction to Statistical Quality Control, Table 7.4 (purchase orders) and 2nd ed.
1991 pp 181-182 (computers); Mohammed et al. (2013), Quality and Safety in Health Care
22:362-368. Tolerance 1e-6 relative: closed formulas.
"""

import polars as pl
from cases import load

from logbook.questions.control import analyse as control
from logbook.vocabulary.defects import kind


def weekly(count, exposure):
    return pl.DataFrame(
        {
            "week": [f"2026-W{number:02d}" for number in range(1, len(count) + 1)],
            "runs": [1] * len(count),
            "exposure": [float(each) for each in exposure],
            "count": [int(each) for each in count],
        }
    )


def flagged(points):
    return [
        position
        for position, point in enumerate(points, start=1)
        if "beyond_limits" in point["signals"]
    ]


def test_purchase_orders_week_by_week():
    case = load("p_chart_purchase_orders")
    cells = weekly(case.inputs["defective"], case.inputs["n"])
    result = control.analyse(cells, kind=kind("gaps"), by="week")
    answer = result.as_json()
    case.check("center", answer["centre"])
    case.check("ucl", [point["upper"] for point in answer["points"]])
    case.check("lcl", [point["lower"] for point in answer["points"]])
    assert flagged(answer["points"]) == case.expected["points_beyond_limits_1based"]
    assert answer["chart"] == "p"
    assert [signal.label for signal in result.signals if signal.rule == "beyond_limits"] == [
        "2026-W11"
    ]


def test_events_over_units():
    case = load("u_chart_pcmanufact")
    cells = weekly(case.inputs["counts"], case.inputs["units"])
    answer = control.analyse(cells, kind=kind("thread_breaks"), by="week").as_json()
    case.check("center", answer["centre"])
    case.check("ucl", answer["points"][0]["upper"])
    case.check("lcl", answer["points"][0]["lower"])
    assert answer["chart"] == "u"


def test_weeks_that_truly_differ_get_the_wider_limits():
    case = load("laney_p_nhs_accidents")
    cells = weekly(case.inputs["defective"], case.inputs["n"])
    result = control.analyse(cells, kind=kind("gaps"), by="week")
    answer = result.as_json()
    case.check("center", answer["centre"])
    case.check("sigma_z", answer["sigma_z"])
    case.check("ucl", [point["upper"] for point in answer["points"]])
    assert answer["chart"] == "p_prime"
    assert flagged(answer["points"]) == []
    plain = control.analyse(cells, kind=kind("gaps"), by="week", spread="plain").as_json()
    assert flagged(plain["points"]) == case.expected["classical_p_points_beyond"]
