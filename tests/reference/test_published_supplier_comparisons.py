"""Published stratified comparisons through the analysis: same figures, in plain words.

Charig et al. (1986), BMJ 292:879, with Julious & Mullee (1994), BMJ 309:1480 (kidney stones); Doll
& Hill (1950) in Fagerland, Lydersen & Laake (2017) ch. 10; Rothman, Greenland & Lash (2008), Modern
Epidemiology 3rd ed., Tables 15-1 (UGDP trial) and 15-2 (British doctors). Groups stand for
suppliers, strata for fabrics. Tolerance 1e-5 relative: closed formulas, the expected values printed
to at least six digits.
"""

import polars as pl
import pytest
from cases import load

from logbook.questions.suppliers import words
from logbook.questions.suppliers.analyse import analyse
from logbook.shop import Shop
from logbook.vocabulary.defects import kind

ONE, TWO = "Alder", "Birch"


def cells(case, exposure_of):
    rows = [
        {
            "backing_supplier": supplier,
            "fabric": f"fabric {number}",
            "backing": "cut_away",
            "weight_band": "light",
            "backing_lot": f"L{number}{group}",
            "runs": 1,
            "exposure": float(exposure_of(stratum, group)),
            "count": stratum[f"events_{group}"],
        }
        for number, stratum in enumerate(case.inputs["strata"])
        for group, supplier in ((1, ONE), (2, TWO))
    ]
    return pl.DataFrame(rows)


def trials(stratum, group):
    return stratum[f"events_{group}"] + stratum[f"nonevents_{group}"]


def compared(case, *, name="puckering", exposure_of=trials):
    return analyse(
        cells(case, exposure_of),
        kind=kind(name),
        shop=Shop(),
        reference=TWO,
        level=case.inputs["conf_level"],
    )


def row_of(result, supplier):
    return next(row for row in result.as_json()["suppliers"] if row["supplier"] == supplier)


@pytest.mark.parametrize("name", ["mh_kidney_stones", "mh_doll_hill_1950", "mh_ugdp_tolbutamide"])
def test_pieces_over_strata(name):
    case = load(name)
    check = row_of(compared(case), ONE)["mantel_haenszel"]
    case.check("or_mh", check["odds_ratio"])
    case.check("or_ci_rbg", check["odds_ratio_interval"])
    case.check("rr_mh", check["risk_ratio"])
    case.check("rr_ci_gr", check["risk_ratio_interval"])
    case.check("rd_mh", check["risk_difference"])
    case.check("rd_ci_gr", check["risk_difference_interval"])
    case.check("tarone_p", check["homogeneity_p"])
    assert check["strata"] == len(case.inputs["strata"])


def test_simpsons_reversal_is_told_in_words():
    case = load("mh_kidney_stones")
    result = compared(case)
    surgery, other = row_of(result, ONE), row_of(result, TWO)
    # Published: 22 % of open operations failed, 17.4 % of the others; stone for stone fewer.
    assert [surgery["crude_rate"], other["crude_rate"]] == pytest.approx([0.22, 0.174], abs=5e-4)
    assert surgery["crude_rate"] - other["crude_rate"] == pytest.approx(case.expected["crude_rd"])
    assert surgery["crude_misleads"] is True
    assert other["crude_misleads"] is False
    assert words.warnings(result) == (
        "All jobs thrown together, Alder's rate of puckering is higher than Birch's (22.0 % "
        "against 17.4 %, over 350 pieces inspected against 350), but like for like, on the same "
        "fabric, backing and weight, it is 5.4 points below Birch's (95 % interval 11.9 below to "
        "1.2 points above). Alder got the harder jobs: trust the like-for-like figure.",
    )
    assert words.pressing(result) == words.warnings(result)


def test_a_comparison_without_reversal_raises_no_such_warning():
    result = compared(load("mh_doll_hill_1950"))
    assert not row_of(result, ONE)["crude_misleads"]
    assert all("crudely" not in warning for warning in words.warnings(result))


def test_events_over_strata():
    case = load("mh_rate_british_doctors")
    result = compared(
        case, name="thread_breaks", exposure_of=lambda stratum, group: stratum[f"exposure_{group}"]
    )
    row = row_of(result, ONE)
    check = row["mantel_haenszel"]
    case.check("irr", check["rate_ratio"])
    case.check("ci", check["rate_ratio_interval"])
    case.check("ird", check["rate_difference"])
    case.check("ird_ci", check["rate_difference_interval"])
    assert row["crude_rate"] / row_of(result, TWO)["crude_rate"] == pytest.approx(
        case.expected["crude_irr"], rel=1e-5
    )
    assert row["pieces_inspected"] is None
    # The ratio falls with age in these data (Rothman et al., Table 15-2), and is told to vary.
    assert any("not the same on every fabric" in warning for warning in words.warnings(result))
    assert "Furthest up: fabric" in words.warnings(result)[-1]
