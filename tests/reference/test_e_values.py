"""E-values against published worked examples.

Infants fed with formula against breast-fed ones, deaths by respiratory infection: 3.9 (1.8 to 8.7)
(Victora et al. 1987), and breastfeeding and childhood leukaemia: 0.80 (0.71 to 0.91), both worked
in VanderWeele & Ding (2017, Ann Intern Med 167:268-274). Smoking and lung cancer (Hammond & Horn
1958): 10.73 (8.02 to 14.36), and 2.5 moved to 1.5, both worked in the vignette "E-values for
unmeasured confounding" of the R package EValue 4.1.3, whose figures have more digits.
"""

import pytest

from logbook.errors import KernelError
from logbook.kernels.unseen_confounding import e_value, e_value_of_interval


@pytest.mark.parametrize(
    ("ratio", "interval", "expected", "of_interval", "within"),
    [
        (3.9, (1.8, 8.7), 7.26, 3.0, 0.005),
        (0.80, (0.71, 0.91), 1.81, 1.43, 0.005),
        (10.73, (8.02, 14.36), 20.94777, 15.52336, 5e-6),
    ],
)
def test_published_e_values(ratio, interval, expected, of_interval, within):
    assert e_value(ratio=ratio) == pytest.approx(expected, abs=within)
    lower, upper = interval
    assert e_value_of_interval(lower=lower, upper=upper) == pytest.approx(of_interval, abs=within)


def test_moved_to_another_ratio_than_one():
    assert e_value(ratio=2.5, true=1.5) == pytest.approx(e_value(ratio=2.5 / 1.5))


def test_an_interval_that_holds_one_needs_nothing_unseen():
    assert e_value_of_interval(lower=0.9, upper=1.4) == 1.0


@pytest.mark.parametrize("ratio", [1.0, 1.3, 3.9, 10.73, 0.4])
def test_a_difference_as_strong_as_the_e_value_explains_the_ratio(ratio):
    strength = e_value(ratio=ratio)
    # The largest factor by which it moves a ratio: Ding & VanderWeele (2016), Epidemiology 27:368.
    explained = strength * strength / (strength + strength - 1)
    assert explained == pytest.approx(max(ratio, 1 / ratio))


def test_what_is_no_ratio_is_refused():
    with pytest.raises(KernelError, match="above zero"):
        e_value(ratio=0.0)
