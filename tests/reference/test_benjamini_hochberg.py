"""Many comparisons: Benjamini & Hochberg (1995), J R Stat Soc B 57:289-300, section 4.

Tolerance 1e-6 relative: the same few multiplications on both sides.
"""

import warnings

import numpy as np
import pytest
from cases import load

from logbook.kernels import multiplicity

with warnings.catch_warnings():
    # statsmodels builds docstrings and touches pandas options on import; not our business.
    warnings.simplefilter("ignore")
    from statsmodels.stats.multitest import multipletests


def test_fifteen_comparisons_of_the_paper():
    case = load("bh_1995_myocardial")
    q = multiplicity.false_discovery(p_values=case.inputs["p_values"])
    case.check("bh_adjusted", q)
    assert int(np.sum(q <= case.inputs["q"])) == case.expected["bh_rejected"]


def test_holm_on_the_same():
    case = load("bh_1995_myocardial")
    case.check("holm_adjusted", multiplicity.holm(p_values=case.inputs["p_values"]))


@pytest.mark.parametrize(("call", "method"), [("false_discovery", "fdr_bh"), ("holm", "holm")])
def test_agrees_with_a_second_witness_on_ties_and_any_order(call, method):
    p = np.random.default_rng(5).beta(0.3, 1.0, 200).round(2)
    ours = getattr(multiplicity, call)(p_values=p)
    np.testing.assert_allclose(ours, multipletests(p, method=method)[1], rtol=1e-12)
