"""What a difference allows to be said of it."""

import pytest

from logbook.kernels.setup_model import verdict
from logbook.kernels.setup_model.levels import Doubted


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
    assert verdict(Doubted((lower + upper) / 2, lower, upper), margin=margin) == said
