"""Pieces per arm: R documentation of power.prop.test; Fleiss, Levin & Paik (2003) ch. 4.

Tolerance 1e-4 relative: R finds n by a search that stops at about that precision.
"""

import pytest
from cases import load

from logbook.kernels import power


@pytest.mark.parametrize(("example", "key"), [(1, "n_2"), (2, "n_3")])
def test_pieces_of_the_documentation(example, key):
    case = load("samplesize_power_prop_test")
    design = case.inputs["examples"][example]
    pieces = power.pieces_per_arm(
        rate_a=design["p1"],
        rate_b=design["p2"],
        alpha=design["alpha"],
        power=design["power"],
        sides=design["sides"],
    )
    case.check(key, pieces)


def test_power_of_the_documentation():
    case = load("samplesize_power_prop_test")
    design = case.inputs["examples"][0]
    got = power.power_of(
        rate_a=design["p1"], rate_b=design["p2"], pieces_per_arm=design["n"], alpha=0.05
    )
    case.check("power_1", got)


def test_power_for_rare_defects():
    case = load("samplesize_power_rare")
    got = power.power_of(
        rate_a=case.inputs["p1"], rate_b=case.inputs["p2"], pieces_per_arm=case.inputs["n"]
    )
    case.check("power", got)


@pytest.mark.parametrize(
    ("design", "key"), [("rare2", "n_rare2"), ("rare3", "n_rare3"), ("ratio2", "n1_ratio2")]
)
def test_pieces_for_rare_defects(design, key):
    case = load("samplesize_power_rare")
    wanted = case.inputs[design]
    pieces = power.pieces_per_arm(
        rate_a=wanted["p1"],
        rate_b=wanted["p2"],
        power=wanted["power"],
        ratio=wanted.get("n2_over_n1", 1),
    )
    case.check(key, pieces)


def test_fleiss_without_continuity_correction():
    case = load("samplesize_fleiss_cc")
    pieces = power.pieces_per_arm(
        rate_a=case.inputs["p1"],
        rate_b=case.inputs["p2"],
        alpha=case.inputs["alpha"],
        power=case.inputs["power"],
    )
    case.check("n_uncorrected", pieces)
