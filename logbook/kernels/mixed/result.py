"""What ``mixed.fit`` returns, and the sentences that go with it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from logbook.kernels.arguments import FloatArray
from logbook.kernels.mixed.families import FamilyName
from logbook.kernels.mixed.rows import Grouping
from logbook.kernels.mixed.search import LARGEST_SD
from logbook.kernels.mixed.separation import Finite


@dataclass(frozen=True, slots=True, eq=False)
class MixedFit:
    """A generalized linear mixed model, fitted.

    Attributes
    ----------
    fixed
        (p,) coefficients on the logit or log scale; NaN for a column that is a combination of
        earlier ones. Large and arbitrary for columns in ``separated``.
    fixed_se
        (p,) standard errors from the inverse Hessian over standard deviations and
        coefficients together.
    fixed_se_conditional
        (p,) the same with the standard deviations held at their estimates.
    fixed_covariance
        (p, p) behind ``fixed_se``.
    sd
        By group name, the standard deviation of its levels; exactly 0 where the levels differ
        no more than chance.
    sd_se
        By group name, its standard error; NaN at a boundary.
    effects
        By group name, (q,) conditional modes of the levels, in the order of ``levels``.
    effects_sd
        By group name, (q,) their standard deviations, given all estimates.
    levels
        By group name, (q,) the distinct codes given, ascending.
    log_likelihood
        Laplace log likelihood with binomial coefficients and factorials, without penalties;
        under separation its supremum.
    aic
        -2 log likelihood + 2 (identified columns + groups).
    separated
        Columns whose best coefficient is infinite.
    converged
        Whether the search met its tolerances.
    iterations
        Steps of the outer search.
    warnings
        Plain sentences.
    """

    family: FamilyName
    fixed: FloatArray
    fixed_se: FloatArray
    fixed_se_conditional: FloatArray
    fixed_covariance: FloatArray
    sd: dict[str, float]
    sd_se: dict[str, float]
    effects: dict[str, FloatArray]
    effects_sd: dict[str, FloatArray]
    levels: dict[str, NDArray[np.integer[Any]]]
    log_likelihood: float
    aic: float
    separated: tuple[int, ...]
    converged: bool
    iterations: int
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Estimates:
    """Estimates for the finite part, on orthonormal columns; groups in the order given.

    Attributes
    ----------
    theta, theta_se
        (k,) standard deviations and their standard errors.
    fixed
        (p,) coefficients.
    covariance, conditional
        (p, p) with theta estimated, and held; ``covariance`` None where the Hessian was not
        positive definite.
    log_likelihood
        Without the constant of the family.
    effects, effects_sd
        (k) vectors over levels.
    repeats
        Index of a group that divides the rows as an earlier one does -> index of that one.
    """

    theta: FloatArray
    theta_se: FloatArray
    fixed: FloatArray
    covariance: FloatArray | None
    conditional: FloatArray
    log_likelihood: float
    effects: list[FloatArray]
    effects_sd: list[FloatArray]
    settled: bool
    iterations: int
    repeats: dict[int, int]


def sentences(
    grouping: Grouping, left_out: int, finite: Finite, estimates: Estimates, fixed: FloatArray
) -> Iterator[str]:
    """Say what the reader of a fit must know."""
    names = list(grouping.levels)
    repeats = {names[one]: names[other] for one, other in estimates.repeats.items()}
    if left_out:
        yield f"{left_out} rows without exposure were left out."
    for column in np.setdiff1d(np.arange(fixed.size), finite.identified):
        yield f"Column {column} of fixed is a combination of earlier columns; it has no estimate."
    gone = int(np.sum(~finite.kept))
    for column in finite.separated():
        yield (
            f"Column {column} of fixed has no finite best coefficient (separation: the outcome of "
            f"{gone} rows is predicted without error); it was stopped at {fixed[column]:.1f}, and "
            "its standard error says nothing."
        )
    for (name, levels), theta in zip(grouping.levels.items(), estimates.theta, strict=True):
        if name in repeats:
            yield (
                f"Group {name!r} divides the rows as {repeats[name]!r} does; the spread of both is "
                f"given to {repeats[name]!r}."
            )
            continue
        if levels.size == 1:
            yield f"Group {name!r} has a single level; nothing can be learned of its spread."
        if theta == 0:
            yield (
                f"The standard deviation of {name!r} is estimated as 0: its levels differ no more "
                "than chance alone would make them."
            )
        elif theta >= LARGEST_SD:
            yield (
                f"The standard deviation of {name!r} was stopped at {LARGEST_SD:g}: its levels "
                "are all or nothing, and the approximation cannot be trusted there."
            )
    if estimates.covariance is None:
        yield (
            "The likelihood is not curved like a maximum; standard errors hold the standard "
            "deviations of the groups at their estimates."
        )
    if not (estimates.settled and finite.settled):
        yield "The fit did not settle; its figures are the last ones reached."
