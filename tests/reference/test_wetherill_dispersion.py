"""Over-dispersion: Wetherill & Brown (1991), Statistical Process Control, pp 212-218.

Tolerance 1e-4 relative, the digits that the source's software prints.
"""

import numpy as np
import pytest
from cases import load
from scipy.stats import chisquare

from logbook.kernels import limits


@pytest.mark.parametrize(
    ("name", "measure", "count"),
    [
        ("overdispersion_binomial_wetherill", "pieces", "defective"),
        ("overdispersion_poisson_wetherill", "events", "counts"),
    ],
)
def test_dispersion_matches_the_book(name, measure, count):
    case = load(name)
    test = limits.overdispersion(
        count=case.inputs[count], exposure=case.inputs.get("n", 1), measure=measure
    )
    case.check("statistic", test.statistic)
    case.check("ratio", test.ratio)
    case.check("p", test.p_value)
    assert test.degrees_of_freedom == case.expected["df"]


def test_uneven_exposures_agree_with_a_second_witness():
    """scipy's chi-square goodness of fit, expected counts in proportion to exposure."""
    count, exposure = np.array([3, 9, 1, 14]), np.array([10.5, 30.0, 7.5, 20.0])
    witness = chisquare(count, exposure * count.sum() / exposure.sum())
    test = limits.overdispersion(count=count, exposure=exposure, measure="events")
    assert test.statistic == pytest.approx(witness.statistic, rel=1e-12)
    assert test.p_value == pytest.approx(witness.pvalue, rel=1e-10)
