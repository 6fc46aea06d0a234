"""The algebra under the mixed model against dense matrices and differences."""

import numpy as np
import pytest

from logbook.kernels.mixed import crossing as crossing_module
from logbook.kernels.mixed.crossing import Crossing
from logbook.kernels.mixed.laplace import Problem, evaluate
from logbook.kernels.mixed.plain import plain_fit
from logbook.kernels.mixed.rows import Rows, read_rows, repeated_groups
from logbook.kernels.mixed.separation import independent_columns, orthonormal

ROWS = 90


def crossed(sizes, seed=0):
    generator = np.random.default_rng(seed)
    codes = [generator.integers(size, size=ROWS) for size in sizes]
    order = np.argsort(codes[0], kind="stable")
    return tuple(code[order].astype(np.intp) for code in codes), tuple(sizes)


def membership(codes, sizes):
    blocks = [np.eye(size)[code] for code, size in zip(codes, sizes, strict=True)]
    return np.hstack(blocks)


@pytest.mark.parametrize("largest_dense_block", [10**7, 20])
@pytest.mark.parametrize("sizes", [(6,), (30, 4), (12, 7, 3), (ROWS, 5, 4)])
def test_factor_is_that_of_the_dense_matrix(sizes, largest_dense_block, monkeypatch):
    # A small limit takes the sparse way, a few levels at a time, as large records do.
    monkeypatch.setattr(crossing_module, "_LARGEST_DENSE_BLOCK", largest_dense_block)
    codes, sizes = crossed(sizes)
    weight = np.random.default_rng(1).gamma(2, size=ROWS)
    theta = np.array([0.7, 1.3, 0.2][: len(sizes)])
    ties = membership(codes, sizes) * np.repeat(theta, sizes)
    dense = np.eye(sum(sizes)) + (ties.T * weight) @ ties
    crossing = Crossing(codes, sizes)
    factor = crossing.factor(theta, weight)
    assert factor.log_determinant() == pytest.approx(np.linalg.slogdet(dense)[1], rel=1e-12)
    for right in (np.arange(sum(sizes), dtype=float), np.eye(sum(sizes))[:, :3]):
        np.testing.assert_allclose(factor.solve(right), np.linalg.solve(dense, right), atol=1e-11)
    moved, variance = factor.leverage()
    inverse = np.linalg.inv(dense)
    np.testing.assert_allclose(variance, np.diag(inverse), atol=1e-12)
    responses = inverse @ ties.T
    for j, code in enumerate(codes):
        expected = responses[code + crossing.starts[j], np.arange(ROWS)]
        np.testing.assert_allclose(moved[j], expected, atol=1e-12)


@pytest.mark.parametrize("family", ["binomial", "poisson"])
def test_the_gradient_is_that_of_differences(family):
    codes, sizes = crossed((20, 5, 3), seed=2)
    generator = np.random.default_rng(3)
    groups = {str(j): code for j, code in enumerate(codes)}
    fixed = np.column_stack([np.ones(ROWS), generator.normal(size=ROWS)])
    count = generator.integers(0, 9, size=ROWS)
    rows, _, _ = read_rows(family, count, count + 5, 0.0, fixed, groups)
    problem = Problem(
        rows, Crossing(codes, sizes), np.diag([0.0, 2.0]), np.array([True, False, False])
    )
    at = np.array([0.6, 0.9, 0.3, -0.4, 0.2])
    start = np.zeros(sum(sizes))

    def value(point):
        return evaluate(problem, point[:3], point[3:], start).value

    steps = np.eye(5) * 1e-5
    differences = [(value(at + step) - value(at - step)) / 2e-5 for step in steps]
    point = evaluate(problem, at[:3], at[3:], start)
    got = np.concatenate([point.by_theta, point.by_fixed])
    np.testing.assert_allclose(got, differences, rtol=1e-6, atol=1e-7)


def test_the_slope_by_the_variance_is_right_where_the_spread_is_nought():
    codes, sizes = crossed((20, 5), seed=4)
    generator = np.random.default_rng(5)
    groups = {str(j): code for j, code in enumerate(codes)}
    count = generator.integers(0, 9, size=ROWS)
    rows, _, _ = read_rows("binomial", count, 12, 0.0, np.ones((ROWS, 1)), groups)
    problem = Problem(rows, Crossing(codes, sizes), np.zeros((1, 1)), np.zeros(2, dtype=bool))
    fixed, start = np.array([-0.6]), np.zeros(sum(sizes))
    at_nought = evaluate(problem, np.array([0.5, 0.0]), fixed, start)
    variance = 1e-5
    above = evaluate(problem, np.array([0.5, np.sqrt(variance)]), fixed, start)
    # The slope is by half the variance, to first order in the step.
    got = (above.value - at_nought.value) / (variance / 2)
    assert got == pytest.approx(at_nought.variance_slope[1], rel=2e-3)


def test_columns_yield_in_the_order_given():
    x = np.arange(6.0)
    fixed = np.column_stack([np.ones(6), x, 3 - x, x**2, np.zeros(6)])
    none = np.zeros(5)
    assert independent_columns(fixed, none, np.arange(5)).tolist() == [0, 1, 3]
    assert independent_columns(fixed, none, np.array([4, 3, 2, 1, 0])).tolist() == [1, 2, 3]
    # A prior tells apart what the rows cannot.
    prior = np.array([0, 0, 1.0, 0, 1.0])
    assert independent_columns(fixed, prior, np.arange(5)).tolist() == [0, 1, 2, 3, 4]


def test_the_orthonormal_columns_give_back_the_design():
    fixed = np.random.default_rng(6).normal(size=(20, 3)) * [1, 1e6, 1e-6]
    for precision in (np.zeros(3), np.array([0.0, 2.0, 0.0])):
        basis, triangle = orthonormal(fixed, precision)
        np.testing.assert_allclose(basis @ triangle, fixed, rtol=1e-9, atol=1e-12)


def test_groups_are_compared_by_how_they_divide_the_rows():
    def rows(*codes):
        count = np.ones(4)
        given = {str(j): np.array(code) for j, code in enumerate(codes)}
        return read_rows("poisson", count, count, 0.0, np.ones((4, 1)), given)[0]

    assert repeated_groups(rows([0, 0, 1, 1], [5, 5, 3, 3], [0, 1, 0, 1])) == {1: 0}
    assert repeated_groups(rows([0, 0, 1, 1], [0, 1, 1, 1])) == {}
    assert repeated_groups(rows([0, 1, 2, 3], [3, 2, 1, 0], [1, 0, 2, 3])) == {1: 0, 2: 0}


def test_the_plain_fit_does_not_settle_on_separated_rows():
    rows: Rows = read_rows("binomial", [5, 0], 5, 0.0, np.eye(2), {})[0]
    assert not plain_fit(rows, np.zeros((2, 2))).settled
    rows = read_rows("binomial", [4, 1], 5, 0.0, np.eye(2), {})[0]
    fit = plain_fit(rows, np.zeros((2, 2)))
    assert fit.settled
    np.testing.assert_allclose(fit.fixed, [np.log(4), -np.log(4)], rtol=1e-12)
