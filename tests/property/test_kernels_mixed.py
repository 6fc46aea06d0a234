"""What holds for every mixed model."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.kernels import mixed

FAMILIES = st.sampled_from(["binomial", "poisson"])
few = settings(max_examples=8, deadline=None)


@st.composite
def shops(draw, family=FAMILIES, spread=1.0):
    """A record with two crossed groups, drawn by seed so that it looks like one."""
    generator = np.random.default_rng(draw(st.integers(0, 10**6)))
    rows = draw(st.integers(25, 60))
    lot, machine = generator.integers(8, size=rows), generator.integers(3, size=rows)
    fixed = np.column_stack([np.ones(rows), generator.normal(size=rows)])
    eta = fixed @ [-1.2, 0.3] + spread * generator.normal(size=8)[lot]
    exposure = generator.integers(5, 60, size=rows)
    name = draw(family)
    count = (
        generator.binomial(exposure, 1 / (1 + np.exp(-eta)))
        if name == "binomial"
        else generator.poisson(exposure * np.exp(eta))
    )
    return {
        "family": name,
        "count": count,
        "exposure": exposure,
        "fixed": fixed,
        "groups": {"lot": lot, "machine": machine},
    }


def same(one, other, atol=2e-5):
    np.testing.assert_allclose(one.fixed, other.fixed, atol=atol)
    np.testing.assert_allclose(one.fixed_se, other.fixed_se, rtol=1e-3)
    for name in other.sd:
        # The likelihood is flat in a small standard deviation: it is found less sharply.
        np.testing.assert_allclose(one.sd[name], other.sd[name], atol=2e-3)


@few
@given(shops(), st.randoms(use_true_random=False))
def test_the_order_of_rows_does_not_matter(shop, random):
    order = list(range(len(shop["count"])))
    random.shuffle(order)
    shuffled = shop | {name: shop[name][order] for name in ("count", "exposure", "fixed")}
    shuffled["groups"] = {name: codes[order] for name, codes in shop["groups"].items()}
    fit, other = mixed.fit(**shop), mixed.fit(**shuffled)
    same(other, fit)
    assert abs(other.log_likelihood - fit.log_likelihood) < 1e-5
    np.testing.assert_allclose(other.effects["lot"], fit.effects["lot"], atol=1e-3)


@few
@given(shops(), st.permutations(range(8)))
def test_the_codes_of_levels_do_not_matter(shop, labels):
    codes = np.array(labels)[shop["groups"]["lot"]] * 3 + 7
    fit = mixed.fit(**shop)
    other = mixed.fit(**shop | {"groups": {"machine": shop["groups"]["machine"], "lot": codes}})
    same(other, fit)
    assert abs(other.log_likelihood - fit.log_likelihood) < 1e-5
    by_label = dict(zip(other.levels["lot"].tolist(), other.effects["lot"], strict=True))
    expected = {
        labels[code] * 3 + 7: effect
        for code, effect in zip(fit.levels["lot"].tolist(), fit.effects["lot"], strict=True)
    }
    for label, effect in expected.items():
        np.testing.assert_allclose(by_label[label], effect, atol=1e-3)


@few
@given(shops(), st.data())
def test_a_cell_in_two_parts_is_the_cell(shop, data):
    """For binomial counts but for the constant; for events, with the exposure parted alike."""
    row = data.draw(st.integers(0, len(shop["count"]) - 1))
    first = data.draw(st.integers(0, int(shop["count"][row])))
    room = int(shop["exposure"][row]) - int(shop["count"][row])
    apart = first + data.draw(st.integers(0, max(0, room)))
    if apart == 0 or apart >= shop["exposure"][row]:
        return
    parted = {name: np.append(shop[name], shop[name][row]) for name in ("count", "exposure")}
    for name, amount in (("count", first), ("exposure", apart)):
        parted[name][-1], parted[name][row] = amount, parted[name][row] - amount
    groups = {name: np.append(codes, codes[row]) for name, codes in shop["groups"].items()}
    fixed = np.vstack([shop["fixed"], shop["fixed"][row]])
    fit = mixed.fit(**shop)
    same(mixed.fit(**shop | parted | {"fixed": fixed, "groups": groups}), fit)


@few
@given(shops(family=st.just("poisson")), st.floats(1e-4, 1e4))
def test_exposure_times_k_moves_only_the_intercept(shop, k):
    fit = mixed.fit(**shop)
    scaled = mixed.fit(**shop | {"exposure": shop["exposure"] * k})
    np.testing.assert_allclose(scaled.fixed, fit.fixed - [np.log(k), 0], atol=2e-5)
    np.testing.assert_allclose(scaled.fixed_se, fit.fixed_se, rtol=1e-3)
    assert abs(scaled.log_likelihood - fit.log_likelihood) < 1e-5


@few
@given(shops(family=st.just("binomial")))
def test_counting_the_good_pieces_negates_the_coefficients(shop):
    fit = mixed.fit(**shop)
    good = mixed.fit(**shop | {"count": shop["exposure"] - shop["count"]})
    np.testing.assert_allclose(good.fixed, -fit.fixed, atol=2e-5)
    np.testing.assert_allclose(good.effects["lot"], -fit.effects["lot"], atol=1e-3)
    assert abs(good.log_likelihood - fit.log_likelihood) < 1e-5


@few
@given(shops(spread=0.3), st.floats(-5, 5), st.floats(0.1, 10))
def test_units_of_a_covariate_change_nothing_else(shop, shift, scale):
    fit = mixed.fit(**shop)
    fixed = shop["fixed"] * [1, scale] + [0, shift]
    moved = mixed.fit(**shop | {"fixed": fixed})
    np.testing.assert_allclose(moved.fixed[1] * scale, fit.fixed[1], atol=2e-5)
    assert abs(moved.log_likelihood - fit.log_likelihood) < 1e-5


@few
@given(shops(spread=0.2))
def test_a_group_more_never_fits_worse(shop):
    both = mixed.fit(**shop)
    lots = mixed.fit(**shop | {"groups": {"lot": shop["groups"]["lot"]}})
    none = mixed.fit(**shop | {"groups": {}})
    nearly = 1e-7 * (100 + abs(none.log_likelihood))
    assert both.log_likelihood >= lots.log_likelihood - nearly
    assert lots.log_likelihood >= none.log_likelihood - nearly


@few
@given(shops(), st.integers(2, 6))
def test_levels_that_do_not_differ_are_a_warning(shop, copies):
    """The same rows in every level: no spread, and the estimates of the plain fit."""
    rows = len(shop["count"])
    many = {name: np.concatenate([shop[name]] * copies) for name in ("count", "exposure", "fixed")}
    many |= {"family": shop["family"]}
    fit = mixed.fit(**many, groups={"lot": np.repeat(np.arange(copies), rows)})
    plain = mixed.fit(**many, groups={})
    assert fit.sd == {"lot": 0.0}
    assert any("'lot' is estimated as 0" in warning for warning in fit.warnings)
    np.testing.assert_allclose(fit.fixed, plain.fixed, atol=1e-6)
    # A spread of none is held at 1e-4, which costs the likelihood a little for every row.
    assert abs(fit.log_likelihood - plain.log_likelihood) < 1e-7 * (100 + abs(plain.log_likelihood))
    assert fit.converged


@settings(max_examples=25, deadline=None)
@given(shops(), st.data())
def test_separation_is_a_warning(shop, data):
    """A column whose rows are without defects, or all rows by a threshold: always a result."""
    complete = data.draw(st.booleans())
    marked = shop["fixed"][:, 1] > data.draw(st.floats(-1, 1))
    marked[:2] = [True, False]
    full = shop["exposure"] if shop["family"] == "binomial" else shop["count"] + 1
    count = np.where(marked, 0, full if complete else shop["count"])
    fixed = np.column_stack([np.ones(marked.size), marked])
    fit = mixed.fit(**shop | {"count": count, "fixed": fixed})
    assert 1 in fit.separated
    assert any("no finite best coefficient" in warning for warning in fit.warnings)
    assert np.isfinite([*fit.fixed, *fit.fixed_se, fit.log_likelihood]).all()
    assert all(np.isfinite(effects).all() for effects in fit.effects.values())
    if complete and shop["family"] == "binomial":
        assert abs(fit.log_likelihood) < 1e-5
    kept = mixed.fit(**shop | {"count": count, "fixed": fixed}, fixed_prior_sd=2.0)
    assert kept.separated == ()
    assert np.abs(kept.fixed).max() < 15
    firth = mixed.fit(**shop | {"count": count, "fixed": fixed, "groups": {}}, jeffreys_prior=True)
    assert firth.converged
    # Half a piece of either kind in each of the two groups, or half an event.
    assert np.abs(firth.fixed).max() < 2 * np.log(2 * shop["exposure"].sum() + 1)


@few
@given(shops(spread=0.0))
def test_penalties_are_off_unless_asked_for(shop):
    fit = mixed.fit(**shop)
    off = mixed.fit(**shop, fixed_prior_sd=np.inf, boundary_avoiding=False, jeffreys_prior=False)
    np.testing.assert_array_equal(fit.fixed, off.fixed)
    assert fit.sd == off.sd
    kept_off = mixed.fit(**shop, boundary_avoiding=True)
    assert min(kept_off.sd.values()) > 0
    assert kept_off.log_likelihood <= fit.log_likelihood + 1e-6
