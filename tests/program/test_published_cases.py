"""Published cases through the whole program: a run sheet in, ``--json`` out."""

from __future__ import annotations

from pathlib import Path

import pytest
from cases import load
from program import answer, book_of, days, logbook_process


def test_p_chart_of_purchase_orders(tmp_path: Path) -> None:
    """Montgomery, Introduction to Statistical Quality Control, Table 7.4."""
    published = load("p_chart_purchase_orders")
    defective, inspected = published.inputs["defective"], published.inputs["n"]
    book = book_of(
        tmp_path,
        (
            {"finished_at": day, "pieces_inspected": int(n), "puckering": int(d)}
            for day, n, d in zip(days(len(defective)), inspected, defective, strict=True)
        ),
    )
    chart = answer(
        "chart",
        "--defect",
        "puckering",
        "--by",
        "day",
        "--spread",
        "plain",
        book=book,
        run=logbook_process,
    )
    assert chart["chart"] == "p"
    assert chart["centre"] == pytest.approx(published.expected["center"], rel=1e-9)
    assert [point["upper"] for point in chart["points"]] == pytest.approx(
        published.expected["ucl"], rel=1e-6
    )
    assert [point["lower"] for point in chart["points"]] == pytest.approx(
        published.expected["lcl"], rel=1e-6, abs=1e-9
    )
    beyond = [
        position
        for position, point in enumerate(chart["points"], start=1)
        if "beyond_limits" in point["signals"]
    ]
    assert beyond == published.expected["points_beyond_limits_1based"]


def test_u_chart_with_fractional_exposure(tmp_path: Path) -> None:
    """Hospital bacteraemia 2015-2016, Capital Region of Denmark: Laney's u-prime chart."""
    published = load("laney_u_bacteremia")
    counts, exposure = published.inputs["counts"], published.inputs["exposure"]
    book = book_of(
        tmp_path,
        (
            {"finished_at": day, "stitches_sewn": repr(float(t)), "thread_breaks": int(c)}
            for day, t, c in zip(days(len(counts)), exposure, counts, strict=True)
        ),
    )
    chart = answer(
        "chart", "--defect", "thread_breaks", "--by", "day", "--spread", "laney", book=book
    )
    assert chart["chart"] == "u_prime"
    assert chart["centre"] == pytest.approx(published.expected["center"], rel=1e-6)
    assert chart["sigma_z"] == pytest.approx(published.expected["sigma_z"], rel=1e-6)
    for bound, name in (("upper", "ucl"), ("lower", "lcl")):
        assert [point[bound] for point in chart["points"]] == pytest.approx(
            published.expected[name], rel=1e-6
        )
    assert [point["exposure"] for point in chart["points"]] == pytest.approx(exposure, rel=1e-12)


def test_stratified_comparison_with_a_reversal(tmp_path: Path) -> None:
    """Kidney stones (Charig 1986; Julious & Mullee, BMJ 309:1480, 1994): Simpson's reversal.

    Treatments stand for suppliers, stone sizes for fabrics, failures for puckered pieces.
    """
    published = load("mh_kidney_stones")
    rows = []
    for fabric, stratum in zip(("small", "large"), published.inputs["strata"], strict=True):
        for group, supplier in ((1, "Surgery"), (2, "Percutaneous")):
            failed = stratum[f"events_{group}"]
            treated = failed + stratum[f"nonevents_{group}"]
            rows.append(
                {
                    "finished_at": "2026-03-02",
                    "fabric": fabric,
                    "backing": "cut_away",
                    "backing_gsm": 60,
                    "backing_supplier": supplier,
                    "pieces_inspected": treated,
                    "puckering": failed,
                }
            )
    book = book_of(tmp_path, rows)
    compared = answer(
        "suppliers", "--defect", "puckering", "--reference", "Percutaneous", book=book
    )
    surgery = next(each for each in compared["suppliers"] if each["supplier"] == "Surgery")
    check, expected = surgery["mantel_haenszel"], published.expected
    assert check["odds_ratio"] == pytest.approx(expected["or_mh"], rel=1e-5)
    assert check["odds_ratio_interval"] == pytest.approx(expected["or_ci_rbg"], rel=1e-5)
    assert check["risk_ratio"] == pytest.approx(expected["rr_mh"], rel=1e-5)
    assert check["risk_ratio_interval"] == pytest.approx(expected["rr_ci_gr"], rel=1e-5)
    assert check["risk_difference"] == pytest.approx(expected["rd_mh"], rel=1e-5)
    assert check["risk_difference_interval"] == pytest.approx(expected["rd_ci_gr"], abs=1e-6)
    assert check["homogeneity_p"] == pytest.approx(expected["tarone_p"], rel=1e-5)
    assert surgery["crude_rate"] == pytest.approx(77 / 350)
    # Crude, surgery fails more; stone for stone it fails less: the program must say so.
    other = next(each for each in compared["suppliers"] if each["supplier"] == "Percutaneous")
    assert surgery["crude_rate"] > other["crude_rate"]
    assert check["risk_difference"] < 0
    assert any("Surgery" in note and "like" in note for note in compared["notes"])
