import math
import warnings
from dataclasses import replace

import numpy as np
import pytest

from logbook.errors import KernelError
from logbook.kernels.setup_model import (
    NO_LEVEL,
    Setups,
    Term,
    compare,
    fit,
    shared_rows,
    standardised,
    variance_and_degrees,
    verdict,
)
from logbook.kernels.setup_model.blocks import without
from logbook.kernels.setup_model.contrasts import MOST_ROWS, new_level_shift, quantile, thinned
from logbook.kernels.setup_model.crosstabs import Crosstabs
from logbook.kernels.setup_model.levels import Estimate
from logbook.kernels.setup_model.terms import lay_out

with warnings.catch_warnings():
    # statsmodels builds docstrings and touches pandas options on import; not our business.
    warnings.simplefilter("ignore")
    import statsmodels.api as sm


def made(seed=1, runs=600, *, lots=12, sd_lot=0.5, supplier=0.0, measure="pieces", level=-3.0):
    """Runs on 4 fabrics with 2 suppliers, lots 0, 2, … of the first and 1, 3, … of the second."""
    rng = np.random.default_rng(seed)
    lot = rng.integers(0, lots, runs)
    fabric = rng.integers(0, 4, runs)
    trials = rng.integers(10, 200, runs).astype(float)
    eta = level + 0.3 * fabric + supplier * (lot % 2) + rng.normal(0, sd_lot, lots)[lot]
    eta = eta + rng.normal(0, 0.4, runs)
    if measure == "pieces":
        count = rng.binomial(trials.astype(int), 1 / (1 + np.exp(-eta)))
    else:
        count = rng.poisson(trials * np.exp(eta))
    return Setups(
        trials=trials,
        squares=trials**2,
        count=count.astype(float),
        runs=np.ones(runs),
        factors={"fabric": fabric, "supplier": lot % 2, "lot": lot},
        slopes={"density": rng.normal(0, 1, runs)},
        measure=measure,
    )


TERMS = (
    Term("level", sd=10.0),
    Term("fabric", ("fabric",), sd=1.5),
    Term("supplier", ("supplier",), sd=1.5),
    Term("lot", ("lot",), boundary_avoiding=True),
    Term("density on fabric", ("fabric",), slope="density"),
)


def dense(layout, rows):
    """The matrix of rows that the counts of pairs stand for."""
    matrix = np.zeros((rows.codes[0].size, layout.size + 1))
    for index, (codes, slope) in enumerate(zip(rows.codes, rows.slopes, strict=True)):
        count = layout.starts[index + 1] - layout.starts[index]
        at = np.where(codes < count, codes + layout.starts[index], layout.size)
        matrix[np.arange(codes.size), at] += 1.0 if slope is None else slope
    return matrix[:, :-1]


def test_counts_of_pairs_are_the_normal_equations():
    setups = made()
    terms = (*TERMS, Term("both", ("fabric", "supplier")))
    factors = {
        **setups.factors,
        "supplier": np.where(setups.trials > 50, setups.factors["supplier"], NO_LEVEL),
    }
    layout = lay_out(terms, factors, setups.slopes)
    rows = layout.rows(factors, setups.slopes)
    matrix = dense(layout, rows)
    whole = matrix.T @ (setups.trials[:, None] * matrix)
    crosstabs = Crosstabs.of(layout, rows)
    assert crosstabs.gram(setups.trials).dense() == pytest.approx(whole)
    assert layout.gather(rows, setups.trials) == pytest.approx(matrix.T @ setups.trials)
    coefficients = np.arange(layout.size, dtype=float)
    assert layout.predict(rows, coefficients) == pytest.approx(matrix @ coefficients)
    precision = crosstabs.gram(setups.trials, np.arange(1.0, layout.size + 1))
    whole += np.diag(np.arange(1.0, layout.size + 1))
    covariance, log_determinant = precision.inverse()
    inverse = np.linalg.inv(whole)
    assert covariance.dense() == pytest.approx(inverse, abs=1e-12)
    assert covariance.diagonal() == pytest.approx(np.diag(inverse))
    assert covariance.times(coefficients) == pytest.approx(inverse @ coefficients)
    assert log_determinant == pytest.approx(np.linalg.slogdet(whole)[1])
    assert layout.leverage(rows, covariance) == pytest.approx(
        np.einsum("ij,jk,ik->i", matrix, inverse, matrix)
    )
    members = np.eye(len(layout.groups))[layout.group_of]
    assert covariance.squares(members) == pytest.approx(members.T @ inverse**2 @ members)
    held = layout.group_of == layout.groups.index("fabric")
    some = np.flatnonzero(~held)
    rest = without(precision.holding(held).inverse()[0], held)
    assert rest.among(some) == pytest.approx(np.linalg.inv(whole[np.ix_(some, some)]))
    assert not rest.diagonal()[held].any()


@pytest.mark.parametrize("measure", ["pieces", "events"])
def test_without_lots_and_with_wide_priors_it_is_quasi_likelihood_regression(measure):
    setups = made(sd_lot=0.0, measure=measure)
    fitted = fit(setups=setups, terms=(Term("level", sd=1e3), Term("fabric", ("fabric",), sd=1e3)))
    rate = np.array(
        [
            standardised(
                fit=fitted, population=np.ones(setups.trials.size, bool), to={"fabric": code}
            ).rate
            for code in range(4)
        ]
    )
    dispersion = (
        1
        + fitted.overdispersion * _slope(fitted.fitted(), measure) * _extra(setups) / setups.trials
    )
    design = np.eye(4)[setups.factors["fabric"]]
    if measure == "pieces":
        response, family = (
            np.column_stack([setups.count, setups.trials - setups.count]),
            sm.families.Binomial(),
        )
        plain = sm.GLM(response, design, family=family, var_weights=1 / dispersion).fit()
        expected = 1 / (1 + np.exp(-plain.params))
    else:
        plain = sm.GLM(
            setups.count,
            design,
            family=sm.families.Poisson(),
            exposure=setups.trials,
            var_weights=1 / dispersion,
        ).fit()
        expected = np.exp(plain.params)
    # The level shift moves all rates a little so that counts add up; shares of it are alike.
    assert rate / rate.mean() == pytest.approx(expected / expected.mean(), rel=2e-3)


def _slope(rate, measure):
    return rate * (1 - rate) if measure == "pieces" else rate


def _extra(setups):
    return setups.squares - (setups.trials if setups.measure == "pieces" else 0)


@pytest.mark.parametrize("measure", ["pieces", "events"])
def test_fitted_counts_add_up_to_those_observed(measure):
    setups = made(measure=measure)
    fitted = fit(setups=setups, terms=TERMS)
    assert fitted.converged
    assert setups.trials @ fitted.fitted() == pytest.approx(setups.count.sum(), rel=1e-9)


@pytest.mark.parametrize("measure", ["pieces", "events"])
def test_spreads_are_recovered(measure):
    setups = made(runs=6000, lots=60, measure=measure)
    fitted = fit(setups=setups, terms=TERMS)
    # 60 lots know their standard deviation to about a tenth; runs' own luck had variance 0.16.
    assert fitted.sd("lot") == pytest.approx(0.5, rel=0.25)
    assert fitted.overdispersion == pytest.approx(0.16, rel=0.25)
    assert math.isnan(fitted.sd("no such term"))


def test_merging_like_runs_changes_nothing():
    one = made(runs=300, lots=4)
    again = {name: np.concatenate([codes, codes]) for name, codes in one.factors.items()}
    twice = Setups(
        trials=np.tile(one.trials, 2),
        squares=np.tile(one.squares, 2),
        count=np.tile(one.count, 2),
        runs=np.tile(one.runs, 2),
        factors=again,
        slopes={"density": np.tile(one.slopes["density"], 2)},
    )
    merged = Setups(
        trials=2 * one.trials,
        squares=2 * one.squares,
        count=2 * one.count,
        runs=2 * one.runs,
        factors=one.factors,
        slopes=one.slopes,
    )
    apart, together = (fit(setups=setups, terms=TERMS[:4]) for setups in (twice, merged))
    # The mean is the same; how restless runs are is told a little better from runs apart.
    assert apart.coefficients == pytest.approx(together.coefficients, abs=0.02)


def test_a_level_without_defects_stays_finite():
    setups = made()
    count = np.where(setups.factors["fabric"] == 0, 0.0, setups.count)
    fitted = fit(
        setups=Setups(
            trials=setups.trials,
            squares=setups.squares,
            count=count,
            runs=setups.runs,
            factors=setups.factors,
            slopes=setups.slopes,
        ),
        terms=TERMS,
    )
    assert fitted.converged
    assert np.isfinite(fitted.coefficients).all()
    assert fitted.fitted()[setups.factors["fabric"] == 0].max() < 0.005


def test_nothing_counted_cannot_be_fitted():
    setups = made()
    none = Setups(
        trials=setups.trials,
        squares=setups.squares,
        count=0 * setups.count,
        runs=setups.runs,
        factors=setups.factors,
    )
    with pytest.raises(KernelError, match="nothing to compare"):
        fit(setups=none, terms=TERMS[:3])


def test_every_piece_counted_cannot_be_fitted_but_events_have_no_most():
    setups = made()
    with pytest.raises(KernelError, match="nothing to compare"):
        fit(setups=replace(setups, count=setups.trials), terms=TERMS[:3])
    events = made(measure="events", supplier=0.5)
    ratio = {}
    for unit in (1.0, 1000.0):
        scaled = replace(events, trials=events.trials / unit, squares=events.squares / unit**2)
        coarse = fit(setups=scaled, terms=TERMS)
        assert coarse.converged
        ratio[unit] = math.exp(coarse.coefficients[6] - coarse.coefficients[5])
    assert scaled.crude_rate > 1
    assert ratio[1000.0] == pytest.approx(ratio[1.0], rel=0.02)


def test_what_cannot_be_is_refused():
    setups = made(runs=50)
    with pytest.raises(KernelError, match="cannot exceed"):
        Setups(
            trials=setups.trials,
            squares=setups.squares,
            count=setups.trials + 1,
            runs=setups.runs,
            factors=setups.factors,
        )
    with pytest.raises(KernelError, match="fabric has 3 rows"):
        Setups(
            trials=setups.trials,
            squares=setups.squares,
            count=setups.count,
            runs=setups.runs,
            factors={"fabric": np.zeros(3, np.intp)},
        )
    with pytest.raises(KernelError, match="needs 'weight'"):
        fit(setups=setups, terms=(Term("level", sd=10.0), Term("weight", ("weight",))))


def test_swapping_two_levels_turns_the_difference_round():
    setups = made(supplier=0.8)
    fitted = fit(setups=setups, terms=TERMS)
    everyone = np.ones(setups.trials.size, bool)
    one, other = (
        compare(fit=fitted, factor="supplier", level=a, reference=b, shared=everyone, renewed="lot")
        for a, b in ((1, 0), (0, 1))
    )
    assert one.difference.estimate == pytest.approx(-other.difference.estimate)
    assert one.difference.lower == pytest.approx(-other.difference.upper)
    assert one.ratio == pytest.approx(1 / other.ratio)
    assert (one.rate.estimate, one.rate.upper) == pytest.approx(
        (other.reference_rate.estimate, other.reference_rate.upper)
    )
    assert one.difference.estimate > 0


def test_few_lots_leave_wider_intervals_than_many():
    widths = []
    for lots in (4, 40):
        setups = made(lots=lots, runs=2000)
        fitted = fit(setups=setups, terms=TERMS)
        found = compare(
            fit=fitted,
            factor="supplier",
            level=1,
            reference=0,
            shared=np.ones(setups.trials.size, bool),
            renewed="lot",
        )
        widths.append(found.difference.upper - found.difference.lower)
    assert widths[0] > 2 * widths[1]


def test_several_comparisons_at_once_share_the_error():
    assert quantile(level=0.95, degrees=1e6) == pytest.approx(1.959964, abs=1e-5)
    assert quantile(level=0.95, degrees=1e6, comparisons=5) == pytest.approx(2.575829, abs=1e-5)
    assert quantile(level=0.95, degrees=4) == pytest.approx(2.776445, abs=1e-5)


def test_a_new_lot_is_worse_on_average_than_the_middle_one():
    fitted = fit(setups=made(runs=3000, lots=40), terms=TERMS)
    effects = fitted.coefficients[fitted.layout.place("lot")]
    assert new_level_shift(fit=fitted, factor="lot") > effects.mean()
    assert new_level_shift(fit=fitted, factor="no such factor") == 0.0


def test_a_combination_without_doubt_has_many_degrees():
    fitted = fit(setups=made(), terms=TERMS[:3])
    gradient = np.ones(fitted.layout.size)
    variance, degrees = variance_and_degrees(fit=fitted, gradient=gradient)
    assert variance > 0
    assert degrees == 1e6


def test_strata_are_shared_where_both_have_three_runs():
    strata = np.array([0] * 6 + [1] * 5 + [NO_LEVEL] * 6)
    codes = np.array([0, 0, 0, 1, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 1, 1, 1])
    shared = shared_rows(strata=strata, codes=codes, runs=np.ones(17), level=0, reference=1)
    assert shared.tolist() == [True] * 6 + [False] * 11


@pytest.mark.parametrize(
    ("lower", "upper", "margin", "said"),
    [
        (-0.02, -0.01, 0.01, "better"),
        (-0.02, 0.005, 0.01, "no_worse"),
        (0.001, 0.005, 0.01, "no_worse"),
        (0.001, 0.02, 0.01, "worse"),
        (-0.02, 0.02, 0.01, "not_enough_data"),
        (-0.02, 0.005, None, "not_enough_data"),
    ],
)
def test_verdicts(lower, upper, margin, said):
    assert verdict(Estimate((lower + upper) / 2, lower, upper), margin=margin) == said


def test_a_large_population_is_thinned_evenly_and_a_small_one_is_kept():
    small = np.arange(30) % 3 > 0
    assert thinned(small) is small
    large = np.arange(3 * MOST_ROWS) % 2 == 0
    kept = np.flatnonzero(thinned(large))
    assert large[kept].all()
    assert MOST_ROWS / 2 <= kept.size <= MOST_ROWS
    assert np.ptp(np.diff(kept)) == 0


def test_a_long_record_that_cannot_tell_two_spreads_apart_is_fitted_all_the_same():
    setups = made(runs=60_000, lots=12, sd_lot=0.1, level=-1.0)
    terms = (
        *TERMS[:3],
        Term("lot", ("lot",), boundary_avoiding=True),
        Term("again", ("lot",), boundary_avoiding=True),
    )
    fitted = fit(setups=setups, terms=terms)
    alone = fit(setups=setups, terms=terms[:4])
    assert fitted.converged
    assert np.allclose(fitted.fitted(), alone.fitted(), rtol=0.01)
    whole = fitted.sd("lot") ** 2 + fitted.sd("again") ** 2
    assert whole == pytest.approx(alone.sd("lot") ** 2, rel=0.5)
    assert fitted.sd("lot") == pytest.approx(fitted.sd("again"), rel=0.1)


@pytest.mark.parametrize("measure", ["pieces", "events"])
def test_a_long_record_begun_with_some_of_its_rows_ends_where_it_would(measure, monkeypatch):
    setups = made(runs=9_000, measure=measure)
    plain = fit(setups=setups, terms=TERMS)
    monkeypatch.setattr("logbook.kernels.setup_model.fitting.MOST_ROWS_AT_FIRST", 2_000)
    monkeypatch.setattr("logbook.kernels.setup_model.fitting.ROWS_AT_FIRST", 1_000)
    begun = fit(setups=setups, terms=TERMS)
    assert begun.converged
    assert begun.iterations < plain.iterations
    assert np.allclose(begun.fitted(), plain.fitted(), rtol=0.01)
    assert begun.sd("lot") == pytest.approx(plain.sd("lot"), rel=0.05)
    assert begun.overdispersion == pytest.approx(plain.overdispersion, abs=0.05)
