"""The upper tail of Student's noncentral distribution."""

from __future__ import annotations

from scipy.special import nctdtr, ndtr

AS_GOOD_AS_NORMAL = 1e6
"""With more degrees of freedom than this, Student's distribution is the normal one."""


def chance_beyond(*, critical: float, degrees: float, shift: float) -> float:
    """Chance that ``(Z + shift) / sqrt(chi2 / degrees)`` exceeds ``critical``.

    Parameters
    ----------
    critical
        Above 0.
    degrees
        Degrees of freedom, infinite for the normal distribution.
    shift
        Noncentrality.
    """
    if degrees > AS_GOOD_AS_NORMAL:
        return float(ndtr(shift - critical))
    # The library's rounding can leave a tail just below nothing.
    return max(1.0 - float(nctdtr(degrees, shift, critical)), 0.0)
