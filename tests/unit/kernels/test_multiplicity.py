import numpy as np
import pytest

from logbook.errors import KernelError
from logbook.kernels import multiplicity

NAN = float("nan")


@pytest.mark.parametrize("call", ["false_discovery", "holm"])
def test_what_was_not_tested_does_not_count(call):
    adjust = getattr(multiplicity, call)
    q = adjust(p_values=[0.01, NAN, 0.04])
    assert np.isnan(q[1])
    np.testing.assert_array_equal(q[[0, 2]], adjust(p_values=[0.01, 0.04]))
    assert np.isnan(adjust(p_values=[NAN])).all()
    assert adjust(p_values=[]).shape == (0,)


@pytest.mark.parametrize("p", [-0.1, 1.1])
def test_p_values_lie_between_0_and_1(p):
    with pytest.raises(KernelError, match="p_values must lie between 0 and 1"):
        multiplicity.false_discovery(p_values=[0.5, p])


def test_one_family_is_the_plain_procedure():
    p = [0.001, 0.02, 0.03, 0.8]
    by_family = multiplicity.false_discovery_by_family(p_values=p, family=np.zeros(4))
    np.testing.assert_allclose(by_family, multiplicity.false_discovery(p_values=p))


def _simes(p):
    """Simes (1986), Biometrika 73:751-754: the smallest m p(i) / i."""
    return (np.sort(p) * p.size / np.arange(1, p.size + 1)).min()


def two_level(p, family, q):
    """The procedure as its paper states it, at one rate."""
    names = np.unique(family)
    family_p = [_simes(p[family == name]) for name in names]
    opened = names[multiplicity.false_discovery(p_values=family_p) <= q]
    found = np.zeros(p.size, dtype=bool)
    for name in opened:
        inside = multiplicity.false_discovery(p_values=p[family == name])
        found[family == name] = inside <= q * opened.size / names.size
    return found


def test_two_level_q_values_agree_with_running_the_procedure_at_each_rate():
    rng = np.random.default_rng(2)
    for _ in range(40):
        family = rng.integers(0, 6, 30)
        p = rng.beta(0.3, 1.0, 30)
        q_values = multiplicity.false_discovery_by_family(p_values=p, family=family)
        for q in (0.02, 0.1, 0.3, 0.7):
            np.testing.assert_array_equal(q_values <= q, two_level(p, family, q))


def test_untested_members_and_families_are_left_out():
    family = np.array(["a", "a", "b", "c"])
    q = multiplicity.false_discovery_by_family(p_values=[0.01, NAN, 0.5, NAN], family=family)
    alone = multiplicity.false_discovery_by_family(p_values=[0.01, 0.5], family=family[[0, 2]])
    np.testing.assert_array_equal(q[[0, 2]], alone)
    assert np.isnan(q[[1, 3]]).all()
    empty = multiplicity.false_discovery_by_family(p_values=[NAN], family=np.array(["a"]))
    assert np.isnan(empty).all()


def test_a_label_for_each_p_value():
    with pytest.raises(KernelError, match="2 p-values but 1 family labels"):
        multiplicity.false_discovery_by_family(p_values=[0.1, 0.2], family=np.array(["a"]))
