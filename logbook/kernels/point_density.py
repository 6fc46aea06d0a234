"""Where marks sit: in denser places than the stitches do, or anywhere."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from logbook.errors import KernelError
from logbook.kernels.arguments import (
    FloatArray,
    Values,
    as_floats,
    fraction,
    line_of_points,
    non_negative,
)
from logbook.kernels.grouped import design_effect
from logbook.kernels.intervals import proportion
from logbook.kernels.trials.signs import sign_flip


@dataclass(frozen=True, slots=True)
class PointDensityFit:
    """How marks are spread over places ordered by their density.

    Attributes
    ----------
    standing
        (n,) share of all stitches that sit in places less dense than each mark's own, 0 to 1;
        0.5 on average where marks follow the stitches.
    mean_standing
        Mean of ``standing``.
    z
        Berman's Z2: the mean's distance from 0.5 in standard errors, were marks independent.
    p_independent
        Two-sided p-value of ``z``.
    p_value
        Two-sided p-value that lets marks of one group (one run) hang together; the one to use.
    top_share, top_lower, top_upper
        Share of marks in the densest places that together hold ``top`` of the stitches, with
        its interval.
    top
        That share of the stitches, as asked.
    top_at_least
        Density from which a place belongs to the densest.
    marks, groups
        How many marks, of how many groups.
    """

    standing: FloatArray
    mean_standing: float
    z: float
    p_independent: float
    p_value: float
    top_share: float
    top_lower: float
    top_upper: float
    top: float
    top_at_least: float
    marks: int
    groups: int


def point_density(
    *,
    mark_density: Values,
    stitch_density: Values,
    groups: NDArray[np.int64],
    top: float = 0.1,
    level: float = 0.95,
) -> PointDensityFit:
    """Test whether marks sit in denser places than the stitches do.

    The null: a mark is as likely at each stitch as at any other.

    Parameters
    ----------
    mark_density
        (n,) density at each mark.
    stitch_density
        (N,) density at each stitch.
    groups
        (n,) which group (run) each mark is of.
    top
        Share of stitches that counts as the densest places.
    level
        Of the interval.

    Raises
    ------
    KernelError
        No marks, no stitches, or arrays that do not fit.

    Notes
    -----
    Berman (1986), Applied Statistics 35:54-62, the statistic Z2 = sqrt(12/n) (sum U - n/2) with
    U the distribution of the covariate over the null process at each point; here the null
    process is the stitches themselves, and ties take the middle of their step. ``p_value`` flips
    the signs of whole groups' sums of U - 1/2 (Fisher 1935, sec. 21), since U is symmetric about
    1/2 under the null and marks of one run seldom fall independently. The interval of
    ``top_share`` is Wilson's over the marks divided by the design effect of their groups (Kish
    1965, Survey Sampling, sec. 8.2).
    """
    marks = _line(mark_density, "mark_density")
    stitches = np.sort(_line(stitch_density, "stitch_density"))
    top = fraction(top, "top")
    level = fraction(level, "level")
    if not marks.size or not stitches.size:
        raise KernelError(
            "Marks and stitches are both needed to say where marks sit.", "Leave empty designs out."
        )
    if groups.shape != marks.shape:
        raise KernelError(
            f"groups must name one group a mark; got {groups.shape} for {marks.shape}.",
            "Pass one code a mark.",
        )
    below = np.searchsorted(stitches, marks, side="left")
    up_to = np.searchsorted(stitches, marks, side="right")
    standing = (below + up_to) / (2.0 * stitches.size)
    deviations = standing - 0.5
    codes = np.unique(groups, return_inverse=True)[1]
    sums: FloatArray = np.bincount(codes, weights=deviations).astype(np.float64)
    z = float(np.sqrt(12.0 / marks.size) * deviations.sum())
    at_least = float(stitches[min(int(np.ceil((1.0 - top) * stitches.size)), stitches.size - 1)])
    inside = marks >= at_least
    share, lower, upper = _grouped_share(inside, codes, level)
    return PointDensityFit(
        standing=standing,
        mean_standing=float(standing.mean()),
        z=z,
        p_independent=float(2.0 * ndtr(-abs(z))),
        p_value=sign_flip(differences=sums).p_value,
        top_share=share,
        top_lower=lower,
        top_upper=upper,
        top=float(np.mean(stitches >= at_least)),
        top_at_least=at_least,
        marks=int(marks.size),
        groups=int(sums.size),
    )


def _line(values: Values, name: str) -> FloatArray:
    return non_negative(line_of_points(as_floats(values, name), name), name)


def _grouped_share(
    inside: NDArray[np.bool_], codes: NDArray[np.int64], level: float
) -> tuple[float, float, float]:
    """A share with Wilson's interval, widened by how much groups differ."""
    share = float(inside.mean())
    effect = design_effect(
        inside=np.bincount(codes, weights=inside).astype(np.float64),
        sizes=np.bincount(codes).astype(np.float64),
        level=level,
    )
    marks = inside.size / effect
    bounds = proportion(count=share * marks, trials=marks, level=level)
    return share, float(bounds.lower), float(bounds.upper)
