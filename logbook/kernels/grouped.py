"""How much less counts say where they come in groups that hang together."""

from __future__ import annotations

import numpy as np
from scipy.special import stdtrit

from logbook.kernels.arguments import FloatArray, two_sided_quantile


def design_effect(*, inside: FloatArray, sizes: FloatArray, level: float = 0.95) -> float:
    """By what factor the variance of a share grows, as its groups differ more than chance.

    Parameters
    ----------
    inside, sizes
        (G,) counted and all of each group.
    level
        Of the interval that the effect is for.

    Returns
    -------
    float
        At least 1. With few groups the effect itself is unsure: it then holds the square of
        Student's quantile over the normal one. One group alone says as much as one of its
        members.

    Notes
    -----
    Kish (1965), Survey Sampling, sec. 8.2: the variance of a ratio of group totals over that of
    as many independent ones.
    """
    everything = float(sizes.sum())
    groups = int(np.count_nonzero(sizes))
    if groups >= everything:
        # Groups of one each are as good as independent.
        return 1.0
    if groups < 2:
        return everything
    effect = 1.0
    share = float(inside.sum()) / everything
    if 0.0 < share < 1.0:
        spread = float(np.sum((inside - share * sizes) ** 2)) * groups / (groups - 1)
        effect = max(1.0, spread / (everything * share * (1.0 - share)))
    effect *= (float(stdtrit(groups - 1, 0.5 + level / 2.0)) / two_sided_quantile(level)) ** 2
    return min(effect, everything)
