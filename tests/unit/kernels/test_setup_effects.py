import numpy as np
import pytest

from logbook.errors import KernelError
from logbook.kernels.setup_model import NO_LEVEL, Setups, Term, fit
from logbook.kernels.setup_model.effects import AskedEffect, effect, others_of, overlap
from logbook.kernels.setup_model.prediction import expected, lot_correlation, together
from logbook.kernels.setup_model.support import support

TERMS = (
    Term("level", sd=10.0),
    Term("fabric", ("fabric",), sd=1.5),
    Term("needle", ("needle",), sd=1.5),
    Term("lot", ("lot",), boundary_avoiding=True),
    Term("fabric x needle", ("fabric", "needle")),
)


def made(*, effect=0.7, seed=4, measure="pieces"):
    rng = np.random.default_rng(seed)
    runs = 1200
    factors = {
        "fabric": rng.integers(0, 3, runs),
        "needle": rng.integers(0, 3, runs),
        "lot": rng.integers(0, 10, runs),
    }
    # Needle 2 never meets fabric 2.
    factors["needle"] = np.where(factors["fabric"] == 2, factors["needle"] % 2, factors["needle"])
    trials = rng.integers(20, 200, runs).astype(float)
    eta = -3 + 0.3 * factors["fabric"] + effect * (factors["needle"] == 1)
    eta = eta + rng.normal(0, 0.3, 10)[factors["lot"]] + rng.normal(0, 0.3, runs)
    if measure == "pieces":
        count = rng.binomial(trials.astype(int), 1 / (1 + np.exp(-eta)))
    else:
        count = rng.poisson(trials * np.exp(eta))
    return Setups(
        trials=trials,
        squares=trials**2,
        count=count.astype(float),
        runs=np.ones(runs),
        factors=factors,
        measure=measure,
    )


@pytest.fixture(scope="module")
def fitted():
    return fit(setups=made(), terms=TERMS)


def test_overlap_wants_three_runs_of_the_level_and_of_others():
    strata = np.array([0] * 6 + [1] * 6 + [NO_LEVEL] * 2)
    codes = np.array([0, 0, 0, 1, 2, 1, 0, 0, 1, 1, 1, 1, 0, 1])
    shared = overlap(strata=strata, codes=codes, runs=np.ones(14), level=0)
    assert shared.tolist() == [True] * 6 + [False] * 8


def test_others_take_the_levels_place_as_often_as_the_stratum_has_them():
    strata = np.zeros(80, np.intp)
    codes = np.array([0] * 40 + [1] * 30 + [2] * 10)
    others = others_of(strata=strata, codes=codes, weights=np.ones(80), level=0)
    assert np.bincount(others[:40], minlength=3).tolist() == [0, 30, 10]
    assert others[40:].tolist() == codes[40:].tolist()


def test_a_stratum_of_the_level_alone_keeps_it():
    others = others_of(
        strata=np.array([0, 0, 1]), codes=np.array([0, 1, 0]), weights=np.ones(3), level=0
    )
    assert others.tolist() == [1, 1, 0]


def test_others_are_of_the_rows_own_stratum():
    strata = np.array([0, 0, 1, 1])
    codes = np.array([0, 1, 0, 2])
    others = others_of(strata=strata, codes=codes, weights=np.ones(4), level=0)
    assert others.tolist() == [1, 1, 2, 2]


def test_a_planted_effect_is_found_with_its_size(fitted):
    found = effect(fit=fitted, asked=AskedEffect("needle", 1, fitted.setups.factors["fabric"]))
    assert found is not None
    assert found.p_value < 1e-6
    assert found.ratio.lower < np.exp(0.7) < found.ratio.upper * 1.05
    assert found.rate.estimate / found.others_rate.estimate == pytest.approx(found.ratio.estimate)
    assert found.like_for_like_share == 1.0


def test_a_level_that_shares_no_stratum_has_no_effect_to_tell(fitted):
    assert (
        effect(fit=fitted, asked=AskedEffect("needle", 1, fitted.setups.factors["needle"])) is None
    )


def test_at_a_wider_level_the_interval_is_wider(fitted):
    strata = fitted.setups.factors["fabric"]
    usual, wide = (
        effect(fit=fitted, asked=AskedEffect("needle", 1, strata), confidence=level)
        for level in (0.95, 0.99)
    )
    assert wide.ratio.lower < usual.ratio.lower < usual.ratio.upper < wide.ratio.upper
    assert wide.p_value == usual.p_value
    assert usual.ratio_at(0.99).upper == pytest.approx(wide.ratio.upper)


def rows(fabric, needle):
    return {
        "fabric": np.array(fabric),
        "needle": np.array(needle),
        "lot": np.full(len(fabric), NO_LEVEL),
    }


def test_expected_rates_are_those_the_runs_had(fitted):
    predicted = expected(fit=fitted, factors=rows([0, 0], [0, 1]), slopes={}, renewed="lot")
    setups = fitted.setups
    for row, needle in enumerate((0, 1)):
        own = (setups.factors["fabric"] == 0) & (setups.factors["needle"] == needle)
        crude = setups.count[own].sum() / setups.trials[own].sum()
        assert predicted.rate[row] == pytest.approx(crude, rel=0.25)


def test_what_was_never_seen_together_is_more_in_doubt(fitted):
    predicted = expected(fit=fitted, factors=rows([2, 2], [1, 2]), slopes={}, renewed="lot")
    assert predicted.unseen.tolist() == [0.0, pytest.approx(fitted.sd("fabric x needle") ** 2)]


def test_a_setup_against_itself_saves_nothing_for_certain(fitted):
    predicted = expected(fit=fitted, factors=rows([0, 0, 1], [0, 0, 1]), slopes={}, renewed="lot")
    saved = together(kinds=[predicted], correlation=np.eye(1))
    assert saved.saving[:2].tolist() == [0.0, 0.0]
    assert saved.saving_error[:2] == pytest.approx([0.0, 0.0], abs=1e-12)
    assert saved.saving_error[2] > 0
    assert saved.rate == pytest.approx(predicted.rate)


def test_errors_that_go_together_make_the_whole_more_doubtful(fitted):
    predicted = expected(fit=fitted, factors=rows([0, 0], [0, 1]), slopes={}, renewed="lot")
    apart = together(kinds=[predicted, predicted], correlation=np.eye(2))
    linked = together(kinds=[predicted, predicted], correlation=np.ones((2, 2)))
    assert apart.rate == pytest.approx(1 - (1 - predicted.rate) ** 2)
    assert linked.saving == pytest.approx(apart.saving)
    assert linked.saving_error[1] == pytest.approx(np.sqrt(2) * apart.saving_error[1])


def test_events_and_pieces_are_not_put_together(fitted):
    events = fit(setups=made(measure="events"), terms=TERMS)
    both = [
        expected(fit=each, factors=rows([0], [0]), slopes={}, renewed="lot")
        for each in (fitted, events)
    ]
    with pytest.raises(KernelError, match="do not add up"):
        together(kinds=both, correlation=np.eye(2))


def test_lots_bad_for_two_kinds_tie_their_errors():
    one = np.array([0.1, -0.2, 0.3, np.nan])
    found = lot_correlation(effects=[one, 2 * one, -one, np.array([1.0, np.nan, np.nan, 2.0])])
    assert found[0, 1] == pytest.approx(1.0)
    assert found[0, 2] == 0.0
    assert found[0, 3] == 0.0
    assert found.diagonal().tolist() == [1.0] * 4


@pytest.mark.parametrize(
    ("runs", "pieces", "designs", "enough"),
    [(5, 30, 2, True), (4, 100, 2, False), (5, 29, 2, False), (5, 30, 1, False)],
)
def test_support_wants_runs_pieces_and_designs(runs, pieces, designs, enough):
    had = np.arange(20) < runs
    found = support(
        like=np.ones(20, bool),
        changed=[had],
        runs=np.ones(20),
        pieces=np.full(20, float(pieces)),
        design=np.arange(20) % designs,
    )
    assert (found.enough, found.runs, found.pieces) == (enough, runs, runs * pieces)


def test_support_of_two_changes_wants_three_runs_of_both():
    for joint, enough in ((3, True), (2, False)):
        found = support(
            like=np.ones(40, bool),
            changed=[np.arange(40) < 20, np.arange(40) >= 20 - joint],
            runs=np.ones(40),
            pieces=np.full(40, 100.0),
            design=np.arange(40),
        )
        assert (found.enough, found.runs) == (enough, joint)
