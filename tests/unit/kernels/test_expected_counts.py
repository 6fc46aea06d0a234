"""What is to be expected of runs, held against a mixed model fitted elsewhere and planted truth."""

from __future__ import annotations

import numpy as np
import pytest
from cases import load
from mixed_cases import offset_lot

from logbook.errors import KernelError
from logbook.kernels.expected_counts import fit
from logbook.kernels.setup_model.setups import NO_LEVEL

SEED = 20_251


def planted(runs=6_000):
    """Runs of five machines and eighty lots whose ratios are known; luck of runs 0.5."""
    rng = np.random.default_rng(SEED)
    machine, lot = rng.integers(0, 5, runs), rng.integers(0, 80, runs)
    of_machine, of_lot = np.array([-0.4, 0.0, 0.0, 0.2, 0.5]), rng.normal(0, 0.4, 80)
    exposure = rng.integers(10, 60, runs).astype(float)
    luck = np.exp(rng.normal(-0.125, 0.5, runs))
    true = 0.02 * exposure * np.exp(of_machine[machine] + of_lot[lot])
    return rng.poisson(true * luck), exposure, {"machine": machine, "lot": lot}, true, of_lot


def test_lots_are_shrunk_as_the_mixed_model_shrinks_them():
    """The lots of a Poisson mixed model with an offset, fitted in R (see the case's source)."""
    case = load("glmm_poisson_offset_lot")
    told = offset_lot(case)
    fabric = (told["fixed"][:, 1:] @ [1, 2]).astype(np.intp)
    found = fit(
        count=told["count"],
        exposure=told["exposure"],
        terms={"fabric": fabric, "lot": told["groups"]["lot"]},
        usual_sd={"fabric": 1.0, "lot": 0.4},
        usual_dispersion=0.02,  # theirs knows none
    )
    published = np.array(list(case.expected["blup"]["lot"].values()))
    ours = found.effects["lot"] - found.effects["lot"].mean()
    np.testing.assert_allclose(ours, published - published.mean(), atol=0.075)
    assert found.sd["lot"] == pytest.approx(case.expected["re_sd"]["lot"], rel=0.12)
    doubt = np.array(list(case.expected["cond_sd"]["lot"].values()))
    # Theirs carries the doubt about the intercept too, which all lots share.
    assert np.median(np.sqrt(found.doubt["lot"]) / doubt) == pytest.approx(1, abs=0.15)


def test_what_was_planted_is_found():
    count, exposure, terms, true, of_lot = planted()
    found = fit(count=count, exposure=exposure, terms=terms)
    assert found.expected.sum() == pytest.approx(count.sum())
    assert np.corrcoef(np.log(found.expected / exposure), np.log(true / exposure))[0, 1] > 0.95
    assert found.sd["lot"] == pytest.approx(of_lot.std(), rel=0.2)
    assert found.run_sd == pytest.approx(0.5, abs=0.1)


def test_what_must_not_be_learnt_from_is_not():
    count, exposure, terms, true, _ = planted()
    recent = np.arange(count.size) >= 5_000
    bad = recent & (terms["machine"] == 2)
    worse = np.where(bad, count * 4, count)
    found = fit(count=worse, exposure=exposure, terms=terms, learn=~recent)
    assert found.expected[bad].sum() == pytest.approx(true[bad].sum(), rel=0.12)


def test_a_column_asked_about_is_not_its_own_excuse():
    count, exposure, terms, _, _ = planted()
    found = fit(count=count, exposure=exposure, terms=terms, not_excused=["machine"])
    ratio = [
        count[terms["machine"] == each].sum() / found.expected[terms["machine"] == each].sum()
        for each in range(5)
    ]
    np.testing.assert_allclose(np.log(ratio) - np.log(ratio[1]), [-0.4, 0, 0, 0.2, 0.5], atol=0.15)


def test_a_level_never_learnt_from_has_all_the_doubt_of_its_term():
    count, exposure, terms, _, _ = planted()
    found = fit(count=count, exposure=exposure, terms=terms, learn=terms["lot"] != 7)
    assert found.effects["lot"][7] == 0
    assert found.doubt["lot"][7] == pytest.approx(found.sd["lot"] ** 2)
    assert found.doubt["lot"][8] < found.doubt["lot"][7] / 3


def test_a_run_without_a_level_and_a_kind_that_never_came_up_are_no_trouble():
    codes = np.array([NO_LEVEL, 0, 0, 1])
    found = fit(count=[0, 0, 0, 0], exposure=[10, 10, 0, 10], terms={"lot": codes})
    assert (found.expected == 0).all()


def test_nothing_to_learn_from_is_said():
    with pytest.raises(KernelError, match="No run is left to learn from"):
        fit(count=[0], exposure=[0], terms={})
    with pytest.raises(KernelError, match="codes of 'lot'"):
        fit(count=[0, 1], exposure=[9, 9], terms={"lot": np.array([0])})
