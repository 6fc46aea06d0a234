"""The rate to expect of single setups, and of one against another, on new lots.

Doubt comes from the coefficients, from what was never seen (a combination without runs has an
effect of its own, unknown but for how far such effects usually lie apart), and from the standard
deviations: effects are shrunk by estimates, and what rests on a badly known one is less sure
(Kass & Steffey 1989, J Am Stat Assoc 84:717-726, first-order term).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from logbook.errors import KernelError
from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model.contrasts import new_level_shift
from logbook.kernels.setup_model.fitting import SetupFit
from logbook.kernels.setup_model.no_difference import chance_of_difference, told
from logbook.kernels.setup_model.responses import rate_at, slope_at
from logbook.kernels.setup_model.setups import NO_LEVEL, IntArray


@dataclass(frozen=True, slots=True, eq=False)
class Expected:
    """Setups of one kind of defect; row 0 is what the others are set against.

    Attributes
    ----------
    rate
        (r,) expected rates on new lots.
    gradients, carried
        (r, P) of the rates by the coefficients, and (P, r) the coefficients' covariance times them.
    unseen
        (r,) variance of each rate's sum of effects from combinations without runs.
    slope
        (r,) derivative of the rates by their sums of effects.
    drift, spread_covariance
        (r, J) derivative of the rates by the logarithm of each estimated variance, and (J, J) the
        covariance of these.
    """

    fit: SetupFit
    rate: FloatArray
    gradients: FloatArray
    carried: FloatArray
    unseen: FloatArray
    slope: FloatArray
    drift: FloatArray
    spread_covariance: FloatArray

    def variance_of(self, weights: FloatArray) -> float:
        """Variance of a weighted sum of the rates; ``weights`` (r,)."""
        # Of a setup against itself both products are nothing but rounding.
        known = max(0.0, float((weights @ self.gradients) @ (self.carried @ weights)))
        moved = weights @ self.drift
        shrunk = max(0.0, float(moved @ self.spread_covariance @ moved))
        return known + shrunk + float(np.sum((weights * self.slope) ** 2 * self.unseen))


def expected(
    *,
    fit: SetupFit,
    factors: Mapping[str, IntArray],
    slopes: Mapping[str, FloatArray],
    renewed: str | None = None,
    without: BoolArray | None = None,
) -> Expected:
    """Predict setups, one a row.

    Parameters
    ----------
    fit
        The fitted model.
    factors, slopes
        (r,) codes and quantities; ``NO_LEVEL`` where a factor is left open or was never seen.
    renewed
        The factor of lots: new ones are taken, on average.
    without
        (r,) setups that have no lot.
    """
    layout, measure = fit.layout, fit.setups.measure
    shift: float | FloatArray = fit.level_shift
    if renewed is not None and renewed in factors:
        factors = {**factors, renewed: np.full_like(factors[renewed], NO_LEVEL)}
        on_new = new_level_shift(fit=fit, factor=renewed)
        shift = shift + (on_new if without is None else np.where(without, 0.0, on_new))
    rows = layout.rows(factors, slopes)
    rate = rate_at(layout.predict(rows, fit.coefficients) + shift, measure)
    slope = slope_at(rate, measure)
    count = rate.size
    gradients = np.zeros((count, layout.size + 1))
    unseen = np.zeros(count)
    for index, term in enumerate(layout.terms):
        codes, by = rows.codes[index], rows.slopes[index]
        levels = int(layout.starts[index + 1] - layout.starts[index])
        factor = np.ones(count) if by is None else by
        at = np.where(codes < levels, codes + layout.starts[index], layout.size)
        gradients[np.arange(count), at] += slope * factor
        asked = np.all([factors[name] >= 0 for name in term.factors], axis=0)
        sd = fit.sds[layout.groups.index(term.name)]
        unseen += np.where((codes == levels) & asked, (factor * sd) ** 2, 0.0)
    gradients = gradients[:, :-1]
    carried = fit.covariance.times(gradients.T)
    return Expected(
        fit=fit,
        rate=rate,
        gradients=gradients,
        carried=carried,
        unseen=unseen,
        slope=slope,
        drift=_drift(fit, carried),
        spread_covariance=np.asarray(np.linalg.inv(fit.spread_information), dtype=np.float64),
    )


def _drift(fit: SetupFit, carried: FloatArray) -> FloatArray:
    """Derivative of rates by the logarithm of each estimated variance, (r, J).

    A coefficient of a group moves by the covariance times what its prior pulls it back with.
    """
    group_of = fit.layout.group_of
    pulled = carried * (fit.coefficients / np.square(fit.sds[group_of]))[:, np.newaxis]
    by_group = np.zeros((fit.sds.size, carried.shape[1]))
    np.add.at(by_group, group_of, pulled)
    return by_group[fit.estimated].T


@dataclass(frozen=True, slots=True, eq=False)
class Saving:
    """What changing from row 0 would save, over all the kinds together.

    Attributes
    ----------
    rate, rate_error
        (r,) share of pieces with any of the kinds (one kind: its rate), and standard error.
    saving, saving_error
        (r,) row 0's rate less each row's, and standard error.
    told
        (r,) the saving to tell of (:func:`.no_difference.told`).
    """

    rate: FloatArray
    rate_error: FloatArray
    saving: FloatArray
    saving_error: FloatArray
    told: FloatArray


def together(
    *, kinds: Sequence[Expected], correlation: FloatArray, chance: FloatArray | None = None
) -> Saving:
    """Put kinds of defect that a piece may show together.

    Parameters
    ----------
    kinds
        Predictions of the same rows; several only of piece kinds.
    correlation
        (K, K) of the kinds' errors, see :func:`lot_correlation`.
    chance
        (K, r) of a difference, where it is known already (:func:`.chance_of_difference`).

    Raises
    ------
    KernelError
        Several kinds of which one counts events.

    Notes
    -----
    A piece is free of all with probability ``prod(1 - rate)``; the variances of the kinds'
    contributions are added with their correlation.
    """
    if len(kinds) > 1 and any(kind.fit.setups.measure == "events" for kind in kinds):
        raise KernelError("Events do not add up with pieces.", "Ask about piece kinds together.")
    rates = np.array([kind.rate for kind in kinds])
    if len(kinds) == 1:
        weights, rate = np.ones_like(rates), rates[0]
    else:
        clean = 1.0 - rates
        whole = clean.prod(axis=0)
        weights, rate = whole / clean, 1.0 - whole
    alone = [np.diag(own) for own in weights]
    rate_error = _summed_error(_errors(kinds, alone), correlation)
    errors = _errors(kinds, [_against_first(own) for own in weights])
    saving_error = _summed_error(errors, correlation)
    gain = weights[:, :1] * rates[:, :1] - weights * rates
    return Saving(
        rate,
        rate_error,
        rate[0] - rate,
        saving_error,
        told(
            kinds=kinds,
            chance=chance_of_difference(kinds=kinds) if chance is None else chance,
            gain=gain,
            variance=errors**2,
            error=saving_error,
        ),
    )


def summed(
    *,
    kinds: Sequence[Expected],
    worth: Sequence[float],
    correlation: FloatArray,
    chance: FloatArray | None = None,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """What changing from row 0 would save where each kind has a cost of its own.

    Parameters
    ----------
    kinds
        Predictions of the same rows.
    worth
        Cost of one defective piece (or event) of each kind.
    correlation
        (K, K) of the kinds' errors, see :func:`lot_correlation`.
    chance
        As in :func:`together`.

    Returns
    -------
    tuple
        (r,) savings a piece, their standard errors, and the savings to tell of.
    """
    gain = np.array(
        [each * (kind.rate[0] - kind.rate) for kind, each in zip(kinds, worth, strict=True)]
    )
    weights = [_against_first(np.full(gain.shape[1], each)) for each in worth]
    errors = _errors(kinds, weights)
    error = _summed_error(errors, correlation)
    if chance is None:
        chance = chance_of_difference(kinds=kinds)
    saving = told(kinds=kinds, chance=chance, gain=gain, variance=errors**2, error=error)
    return gain.sum(axis=0), error, saving


def _against_first(weights: FloatArray) -> FloatArray:
    """Weights of the first row less each row, (r, r), one difference a row."""
    less = -np.diag(weights)
    less[:, 0] += weights[0]
    return less


def _errors(kinds: Sequence[Expected], weights: Sequence[FloatArray]) -> FloatArray:
    """Standard error of each kind's sums, (K, r); ``weights`` (r, r) of each kind."""
    return np.sqrt(
        [[kind.variance_of(row) for row in own] for kind, own in zip(kinds, weights, strict=True)]
    )


def _summed_error(errors: FloatArray, correlation: FloatArray) -> FloatArray:
    """Standard error of the kinds' sum, (r,)."""
    summed_squares = np.einsum("kr,kl,lr->r", errors, correlation, errors)
    return np.asarray(np.sqrt(np.maximum(summed_squares, 0.0)))


def lot_correlation(*, effects: Sequence[FloatArray]) -> FloatArray:
    """How far lots that are bad for one kind are bad for another, (K, K), never below zero.

    Parameters
    ----------
    effects
        For each kind, (L,) effects of the same lots; NaN for a lot not seen in that kind.
    """
    matrix = np.eye(len(effects))
    for one in range(len(effects)):
        for other in range(one):
            both = np.isfinite(effects[one]) & np.isfinite(effects[other])
            found = 0.0
            if both.sum() > 2 and np.ptp(effects[one][both]) * np.ptp(effects[other][both]) > 0:
                found = float(np.corrcoef(effects[one][both], effects[other][both])[0, 1])
            matrix[one, other] = matrix[other, one] = max(found, 0.0)
    return matrix
