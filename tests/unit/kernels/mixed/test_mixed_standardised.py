import numpy as np
import pytest
from scipy.special import expit

from logbook.errors import KernelError
from logbook.kernels import mixed

FIXED = np.array([-2.0, 0.7])
COVARIANCE = np.array([[0.04, -0.03], [-0.03, 0.06]])
DESIGNS = np.array([[[1, 0], [1, 0.5]], [[1, 1], [1, 1.5]]], dtype=float)


def standardised(**change):
    given = {"family": "binomial", "fixed": FIXED, "fixed_covariance": COVARIANCE}
    return mixed.standardised_rates(**given | {"designs": DESIGNS} | change)


@pytest.mark.parametrize("family", ["binomial", "poisson"])
@pytest.mark.parametrize("sd", [0.0, 0.8])
def test_rates_are_weighted_means_and_errors_those_of_many_draws(family, sd):
    """Draws of the coefficients with a hundredth of their spread, where the delta method holds."""
    small = COVARIANCE / 1e4
    weight = np.array([30, 10])
    got = standardised(family=family, fixed_covariance=small, weight=weight, offset=0.2, sd=sd)
    draws = np.random.default_rng(3).multivariate_normal(FIXED, small, size=20_000)

    def rates(coefficients):
        eta = DESIGNS @ coefficients + 0.2
        mean = mixed.marginal_mean(family=family, linear_predictor=eta, sd=sd)
        return mean @ [0.75, 0.25]

    np.testing.assert_allclose(got.rate, rates(FIXED), rtol=1e-12)
    drawn = np.array([rates(draw) for draw in draws[:4000]])
    np.testing.assert_allclose(got.se, drawn.std(axis=0), rtol=0.05)
    np.testing.assert_allclose(np.diag(got.covariance), got.se**2)


def test_one_row_is_its_own_rate():
    got = standardised(designs=[[[1.0, 1.0]]])
    assert got.rate == pytest.approx([expit(-1.3)])


def test_a_coefficient_without_an_estimate_leaves_no_rate():
    got = standardised(fixed=[-2.0, np.nan])
    assert np.isnan(got.rate).all()


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"designs": np.ones((2, 2))}, "shape"),
        ({"fixed_covariance": np.eye(3)}, "shape"),
        ({"weight": [1.0, 2.0, 3.0]}, "weight"),
        ({"weight": [0.0, 0.0]}, "weight"),
        ({"weight": [-1.0, 2.0]}, "negative"),
        ({"sd": -1.0}, "negative"),
        ({"family": "normal"}, "no family"),
    ],
)
def test_arguments_that_cannot_be_are_refused(change, sentence):
    with pytest.raises(KernelError, match=sentence):
        standardised(**change)
