"""Large records are solved by other ways than small ones: each way must give the same."""

import numpy as np
import pytest
from test_setup_model import dense

from logbook.kernels.setup_model import NO_LEVEL, Setups, Term, blocks, compare, crosstabs, fit
from logbook.kernels.setup_model import moments as summing
from logbook.kernels.setup_model.crosstabs import Crosstabs
from logbook.kernels.setup_model.moments import moments
from logbook.kernels.setup_model.terms import lay_out

TERMS = (
    Term("level", sd=10.0),
    *(Term(name, (name,), sd=1.5) for name in ("fabric", "backing", "hooping", "shade")),
    Term("design", ("design",), boundary_avoiding=True),
    Term("lot", ("lot",), boundary_avoiding=True),
    Term("fabric x backing", ("fabric", "backing")),
    Term("density on fabric", ("fabric",), slope="density"),
    Term("density on backing", ("backing",), slope="density"),
    Term("speed", slope="speed"),
)
MANY = {"design", "lot"}


def shop(seed=3, runs=1500, *, lots=120, designs=50):
    """Lots of one backing each, designs that meet few of them, some runs without a lot."""
    rng = np.random.default_rng(seed)
    lot, design = rng.integers(0, lots, runs), rng.integers(0, designs, runs)
    factors = {name: rng.integers(0, 4, runs) for name in ("fabric", "hooping", "shade")}
    bare = rng.random(runs) < 0.1
    factors |= {"design": design, "backing": lot % 3, "lot": np.where(bare, NO_LEVEL, lot)}
    eta = -2.5 + rng.normal(0, 0.5, lots)[lot] + rng.normal(0, 0.4, designs)[design]
    eta += 0.4 * (factors["backing"] == 1) + rng.normal(0, 0.3, runs)
    trials = rng.integers(20, 120, runs).astype(float)
    return Setups(
        trials=trials,
        squares=trials**2,
        count=rng.binomial(trials.astype(int), 1 / (1 + np.exp(-eta))).astype(float),
        runs=np.ones(runs),
        factors=factors,
        slopes={"density": rng.integers(0, 5, runs) - 2.0, "speed": rng.normal(0, 1, runs)},
    )


@pytest.fixture
def as_if_large(monkeypatch):
    """Take the ways of a record too large for whole tables, borders and inverses."""
    monkeypatch.setattr(crosstabs, "MANY_LEVELS", 20)
    monkeypatch.setattr(crosstabs, "LARGEST_TABLE", 0)
    monkeypatch.setattr(crosstabs, "DENSE_BORDER", 0)
    monkeypatch.setattr(crosstabs, "PAIRS_KEPT_BYTES", 0)
    monkeypatch.setattr(blocks, "LEVELS_AT_ONCE", 32)
    monkeypatch.setattr(summing, "EXACT_WORK", 0.0)


@pytest.mark.parametrize("large", [False, True])
def test_tables_of_bundled_terms_are_the_normal_equations(large, request):
    if large:
        request.getfixturevalue("as_if_large")
    setups = shop()
    layout = lay_out(TERMS, setups.factors, setups.slopes)
    rows = layout.rows(setups.factors, setups.slopes)
    found, matrix = Crosstabs.of(layout, rows), dense(layout, rows)
    assert len(found.bundles) < len(TERMS) - 3, "terms of few levels are counted together"
    assert isinstance(found.gram(setups.trials).across, np.ndarray) == (not large)
    whole = matrix.T @ (setups.trials[:, None] * matrix) + np.diag(np.arange(layout.size) + 1.0)
    precision = found.gram(setups.trials, np.arange(layout.size) + 1.0)
    assert precision.many == (50 if large else 0)
    np.testing.assert_allclose(precision.dense(), whole, atol=1e-8)
    vector = np.linspace(-1, 1, layout.size)
    np.testing.assert_allclose(found.predict(vector), matrix @ vector, atol=1e-10)
    np.testing.assert_allclose(found.gather(setups.trials), matrix.T @ setups.trials)
    inverse = np.linalg.inv(whole)
    for spent in (False, True):
        covariance, log_determinant = precision.inverse(spent=spent)
        np.testing.assert_allclose(covariance.dense(), inverse, atol=1e-12)
        np.testing.assert_allclose(covariance.diagonal(), np.diag(inverse))
        assert log_determinant == pytest.approx(np.linalg.slogdet(whole)[1])
    members = np.eye(len(layout.groups))[layout.group_of]
    np.testing.assert_allclose(covariance.squares(members), members.T @ inverse**2 @ members)


def test_sums_over_random_signs_are_near_and_those_of_few_levels_exact(as_if_large):
    setups = shop()
    layout = lay_out(TERMS, setups.factors, setups.slopes)
    rows = layout.rows(setups.factors, setups.slopes)
    prior = np.full(layout.size, 4.0)
    covariance, _ = Crosstabs.of(layout, rows).gram(setups.trials / 9, prior).inverse()
    members = np.eye(len(layout.groups))[layout.group_of]
    exact = moments(covariance, members, signs=None)
    near = moments(covariance, members, signs=200)
    averaged = np.array([name in MANY for name in layout.groups])
    np.testing.assert_allclose(near.traces[~averaged], exact.traces[~averaged])
    np.testing.assert_allclose(near.traces, exact.traces, rtol=0.01)
    few = np.ix_(~averaged, ~averaged)
    np.testing.assert_allclose(near.squares[few], exact.squares[few])
    np.testing.assert_allclose(np.diag(near.squares), np.diag(exact.squares), rtol=0.05)
    again = moments(covariance, members, signs=200)
    np.testing.assert_array_equal(again.traces, near.traces)


def test_a_large_record_is_answered_as_the_same_record_taken_whole(request):
    setups = shop()
    whole = fit(setups=setups, terms=TERMS)
    request.getfixturevalue("as_if_large")
    large = fit(setups=setups, terms=TERMS)
    assert whole.converged
    assert large.converged
    everywhere = np.ones(setups.trials.size, dtype=bool)
    for level in (1, 2):
        asked = {"factor": "backing", "level": level, "reference": 0, "shared": everywhere}
        exact, near = (compare(fit=each, renewed="lot", **asked) for each in (whole, large))
        error = np.sqrt(exact.variance)
        assert near.difference.estimate == pytest.approx(
            exact.difference.estimate, abs=0.01 * error
        )
        assert near.difference.lower == pytest.approx(exact.difference.lower, abs=0.02 * error)
        assert near.degrees == pytest.approx(exact.degrees, rel=0.05)
    errors = np.sqrt(whole.covariance.diagonal())
    assert np.abs((large.coefficients - whole.coefficients) / errors).max() < 0.03


def test_products_without_an_inverse_where_coefficients_are_held(as_if_large):
    setups = shop(runs=400)
    layout = lay_out(TERMS, setups.factors, setups.slopes)
    rows = layout.rows(setups.factors, setups.slopes)
    precision = Crosstabs.of(layout, rows).gram(setups.trials, np.ones(layout.size))
    held = np.isin(layout.group_of, [layout.groups.index(name) for name in ("lot", "fabric")])
    rest = blocks.without(precision.holding(held).inverse()[0], held)
    some = np.flatnonzero(~held)
    wanted = np.linalg.inv(precision.dense()[np.ix_(some, some)])
    np.testing.assert_allclose(rest.among(some), wanted, atol=1e-12)
    assert not rest.diagonal()[held].any()
