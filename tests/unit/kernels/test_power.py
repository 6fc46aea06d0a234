import math

import numpy as np
import pytest

from logbook.errors import KernelError
from logbook.kernels import power


def test_single_numbers_give_a_plain_unrounded_float():
    pieces = power.pieces_per_arm(rate_a=0.5, rate_b=0.75, power=0.9)
    assert type(pieces) is float
    assert pieces != round(pieces)


def test_arrays_give_arrays():
    pieces = power.pieces_per_arm(rate_a=np.array([0.04, 0.08]), rate_b=0.02)
    assert pieces.shape == (2,)
    assert pieces[0] > pieces[1]


def test_equal_rates_can_never_be_told_apart():
    assert power.pieces_per_arm(rate_a=0.02, rate_b=0.02) == math.inf
    got = power.power_of(rate_a=0.02, rate_b=0.02, pieces_per_arm=500)
    assert got == pytest.approx(0.025)


def test_rates_of_nil_and_all():
    assert power.power_of(rate_a=0, rate_b=0, pieces_per_arm=50) == 0
    assert power.power_of(rate_a=0, rate_b=1, pieces_per_arm=50) == 1
    assert power.power_of(rate_a=0, rate_b=1, pieces_per_arm=1) == 0


def test_more_power_or_less_alpha_takes_more_pieces():
    usual = power.pieces_per_arm(rate_a=0.06, rate_b=0.03)
    assert power.pieces_per_arm(rate_a=0.06, rate_b=0.03, power=0.9) > usual
    assert power.pieces_per_arm(rate_a=0.06, rate_b=0.03, alpha=0.01) > usual
    assert power.pieces_per_arm(rate_a=0.06, rate_b=0.03, sides=1) < usual


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ({"rate_a": 2}, "rate_a must lie between 0 and 1; got 2"),
        ({"rate_b": math.nan}, "rate_b must lie between 0 and 1"),
        ({"alpha": 0}, "alpha must lie between 0 and 1"),
        ({"power": 0.02}, "power must lie between alpha / sides and 1; got 0.02"),
        ({"power": 80}, "power must lie between alpha / sides and 1; got 80"),
        ({"sides": 3}, "1 or 2 sides; got 3"),
        ({"ratio": 0}, "ratio must be positive; got 0"),
    ],
)
def test_designs_that_cannot_be_are_refused(arguments, says):
    with pytest.raises(KernelError, match=says):
        power.pieces_per_arm(**{"rate_a": 0.1, "rate_b": 0.2, **arguments})


def test_a_negative_number_of_pieces_is_refused():
    with pytest.raises(KernelError, match="pieces_per_arm must not be negative"):
        power.power_of(rate_a=0.1, rate_b=0.2, pieces_per_arm=-1)
