"""How far out a difference must lie at each look at a running trial.

Each look spends a part of the chance of a false alarm, very little of it early on. How many looks
there will be need not be fixed beforehand, only when the trial is to end.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import ndtr, ndtri

from logbook.errors import KernelError
from logbook.kernels.arguments import FloatArray, Numbers, as_floats, fraction, line_of_points

FARTHEST = 8.0
"""A difference so many standard errors out always ends a trial: chance is below 2 in 10**15."""
_NODES = 200
_NODES_A_STEP = 4.0


@dataclass(frozen=True, slots=True, eq=False)
class Bounds:
    """Bounds of a trial's looks.

    Attributes
    ----------
    fraction
        (K,) share of the planned trial at each look.
    z
        (K,) standard errors from zero at which the trial may stop.
    alpha
        (K,) two-sided level at which the look is made: what an ordinary test is held against.
    spent
        (K,) chance of a false alarm spent up to and with each look.
    """

    fraction: FloatArray
    z: FloatArray
    alpha: FloatArray
    spent: FloatArray


def spending_bounds(*, fraction_done: Numbers, alpha: float = 0.05) -> Bounds:
    """Find the bounds of looks after given shares of the trial.

    Parameters
    ----------
    fraction_done
        (K,) shares of the planned trial, rising, above 0 and at most 1.
    alpha
        Chance of a false alarm over the whole trial, both ways together.

    Raises
    ------
    KernelError
        If the shares do not rise or lie outside 0 to 1.

    Notes
    -----
    Lan & DeMets (1983), Biometrika 70:659-663, with their spending function of the
    O'Brien-Fleming type on either side: ``2 - 2 Phi(z / sqrt(t))``, where z is the upper
    alpha / 4 quantile. The bounds follow by the recursive integration of Armitage, McPherson &
    Rowe (1969), as in Jennison & Turnbull (2000), Group Sequential Methods, ch. 19.
    """
    done = _rising(fraction_done)
    quantile = float(-ndtri(fraction(alpha, "alpha") / 4))
    spent = 4.0 * ndtr(-quantile / np.sqrt(done))
    z = np.empty(done.size)
    walk = _Walk()
    for look, share in enumerate(done):
        left = float(spent[look] - (spent[look - 1] if look else 0.0))
        z[look] = walk.bound_for(float(share), left)
        walk = walk.onwards(float(share), float(z[look]))
    return Bounds(fraction=done, z=z, alpha=2.0 * ndtr(-z), spent=spent)


def chance_of_crossing(*, fraction_done: Numbers, z: Numbers, drift: float = 0.0) -> FloatArray:
    """Chance of being outside a bound for the first time at each look, (K,).

    Parameters
    ----------
    fraction_done, z
        (K,) shares of the planned trial and bounds, in standard errors.
    drift
        True difference in standard errors of the whole trial.

    Notes
    -----
    Source as for :func:`spending_bounds`.
    """
    done, bounds = _rising(fraction_done), line_of_points(as_floats(z, "z"), "z")
    if done.shape != bounds.shape or not (bounds > 0).all():
        raise KernelError(
            f"Each of {done.size} looks needs a bound above 0; got {z!r}.", "Give one a look."
        )
    crossed = np.empty(done.size)
    walk = _Walk(drift=drift)
    for look, (share, bound) in enumerate(zip(done, bounds, strict=True)):
        crossed[look] = walk.beyond(float(share), float(bound))
        walk = walk.onwards(float(share), float(bound))
    return crossed


@dataclass(frozen=True, slots=True, eq=False)
class _Walk:
    """Where the sum of differences may stand, never yet outside a bound.

    ``places`` are points of the sum (standard deviation 1 over the whole trial) and ``weights``
    the chance of being around each; at the start all of it is at zero.
    """

    at: float = 0.0
    places: FloatArray | None = None
    weights: FloatArray | None = None
    drift: float = 0.0

    def beyond(self, share: float, bound: float) -> float:
        """Chance of being outside ``bound`` at the next look."""
        places, weights = self._standing()
        step, edge = np.sqrt(share - self.at), bound * np.sqrt(share)
        moved = places + self.drift * (share - self.at)
        return float(weights @ (ndtr((moved - edge) / step) + ndtr((-edge - moved) / step)))

    def bound_for(self, share: float, chance: float) -> float:
        """Bound that is crossed with ``chance`` at the next look."""
        from scipy.optimize import brentq  # late: heavy, and only running trials need it

        if self.beyond(share, FARTHEST) >= chance:
            return FARTHEST
        return float(
            brentq(lambda bound: self.beyond(share, bound) - chance, 0.0, FARTHEST, xtol=1e-10)
        )

    def onwards(self, share: float, bound: float) -> _Walk:
        """Where the sum may stand after the next look, if it did not end the trial."""
        places, weights = self._standing()
        step = float(np.sqrt(share - self.at))
        edge = min(bound, FARTHEST + abs(self.drift)) * float(np.sqrt(share))
        nodes, widths = _legendre(edge, step)
        off = (nodes[:, None] - places - self.drift * (share - self.at)) / step
        density = np.exp(-0.5 * off**2) @ weights / (step * np.sqrt(2 * np.pi))
        return _Walk(share, nodes, density * widths, self.drift)

    def _standing(self) -> tuple[FloatArray, FloatArray]:
        if self.places is None or self.weights is None:
            return np.zeros(1), np.ones(1)
        return self.places, self.weights


def _legendre(edge: float, step: float) -> tuple[FloatArray, FloatArray]:
    """Gauss-Legendre points and widths over either side of zero, fine enough for the next step."""
    # In steps of fifty: few sets of points, which are slow to find, serve all looks.
    count = int(max(_NODES, 50 * np.ceil(2 * edge / step * _NODES_A_STEP / 50)))
    nodes, widths = _points(count)
    return edge * nodes, edge * widths


@lru_cache(maxsize=256)
def _points(count: int) -> tuple[FloatArray, FloatArray]:
    return np.polynomial.legendre.leggauss(count)


def _rising(fraction_done: Numbers) -> FloatArray:
    done = line_of_points(as_floats(fraction_done, "fraction_done"), "fraction_done")
    if not (done.size and done[0] > 0 and done[-1] <= 1 and (np.diff(done) > 0).all()):
        raise KernelError(
            f"Looks must come at rising shares of the trial, above 0 and at most 1; "
            f"got {fraction_done!r}.",
            "A look half-way is written 0.5.",
        )
    return done
