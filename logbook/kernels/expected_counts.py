"""What each run was to be expected to show, given how it was sewn, and how widely runs vary.

A ridge Poisson regression: every level of every term multiplies the rate, and is drawn towards 1
as far as levels of its term turn out to be alike. It is small and quick on purpose, so that it can
be made for each kind of defect and each stretch of time; intervals of effects and verdicts come
from :mod:`logbook.kernels.setup_model`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from logbook.errors import KernelError
from logbook.kernels.arguments import BoolArray, FloatArray, Numbers, count_and_exposure
from logbook.kernels.setup_model.setups import NO_LEVEL, IntArray

SWEEPS = 14
MOST_LEARNT_FROM = 60_000
"""A longer record is learnt from at even steps, for speed: so many runs settle every effect."""

_USUAL_SD = 0.15
"""Spread of the levels of a term before anything is known of it, in log rates."""
_LEVELS_OF_BELIEF = 2.0
_RUNS_OF_BELIEF = 30.0
"""Of one expected each: what the usual dispersion is worth beside the record's own."""
_LEAST_SD, _FIRST_SD, _GREATEST_SD = 0.03, 0.3, 2.0
_LEAST_DISPERSION = 0.02
_LONGEST_STEP = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class ExpectedCounts:
    """What was to be expected.

    Attributes
    ----------
    expected
        (m,) count to be expected of each run, all terms excused but those of ``not_excused``.
    run_sd
        Standard deviation of the log-normal luck of runs of one setup.
    sd
        Term → standard deviation of its levels, in log rates.
    effects, doubt
        Term → (levels,) log ratio of each level, and its variance given the record; a level that
        nothing was learnt of has effect 0 and the whole variance of its term.
    """

    expected: FloatArray
    run_sd: float
    sd: Mapping[str, float]
    effects: Mapping[str, FloatArray]
    doubt: Mapping[str, FloatArray]


def fit(
    *,
    count: Numbers,
    exposure: Numbers,
    terms: Mapping[str, IntArray],
    learn: BoolArray | None = None,
    not_excused: Sequence[str] = (),
    usual_sd: Mapping[str, float] | None = None,
    usual_dispersion: float = 0.28,
) -> ExpectedCounts:
    """Learn from some runs what all were to be expected to show.

    Parameters
    ----------
    count, exposure
        (m,) events and stitches, or pieces that show it and pieces inspected; 0 and 0 for a run
        that did not record the kind.
    terms
        Term → (m,) code of each run's level from 0, ``NO_LEVEL`` for none.
    learn
        (m,) runs that may be learnt from; all if not given.
    not_excused
        Terms that are learnt, so that nothing else takes the blame for them, and then left out of
        what is expected: their average level stands for all.
    usual_sd
        Term → spread of its levels, in log rates, to lean on where the record says little.
    usual_dispersion
        Of runs of one setup, to lean on likewise: the square of how far their rates differ, in
        shares of the rate; 0.28 is log-normal luck of standard deviation 0.5.

    Returns
    -------
    ExpectedCounts
        Over the runs learnt from, expected and observed counts add up to the same.

    Raises
    ------
    KernelError
        A count cannot be true, a term's codes do not fit, or no run is left to learn from.

    Notes
    -----
    Penalised quasi-likelihood (Breslow & Clayton 1993, J Am Stat Assoc 88:9-25) for a variance of
    ``mu + dispersion * mu**2``, maximised term by term; the spread of a term's levels by the fixed
    point of Schall (1991, Biometrika 78:719-727) with a little belief in what is usual, the
    dispersion by moments (Breslow 1984, Appl Stat 33:38-44), degrees of freedom allowed for.
    """
    y, at_risk = count_and_exposure(count, exposure, names=("count", "exposure"), bounded=False)
    learnt = at_risk > 0 if learn is None else learn & (at_risk > 0)
    rows = _at_even_steps(np.flatnonzero(learnt))
    if rows.size == 0:
        raise KernelError("No run is left to learn from.", "Let more runs be learnt from.")
    sizes = {name: _levels(name, codes, y.size) for name, codes in terms.items()}
    codes = {name: terms[name][rows] + 1 for name in terms}
    fitted = _Fitting(y[rows], at_risk[rows], codes, sizes, usual_sd or {}, usual_dispersion)
    fitted.sweep(SWEEPS)
    effects, doubt = fitted.effects, fitted.doubt
    log_ratio = np.zeros(y.size)
    for name in terms:
        if name not in not_excused:
            # The mean of a log-normal ratio, not its middle, is what comes of an uncertain level.
            log_ratio += (effects[name] + doubt[name] / 2)[terms[name] + 1]
    expected = at_risk * np.exp(log_ratio)
    expected *= y[learnt].sum() / expected[learnt].sum()
    return ExpectedCounts(
        expected,
        float(np.sqrt(np.log1p(fitted.dispersion))),
        {name: float(np.sqrt(variance)) for name, variance in fitted.variance.items()},
        {name: each[1:] for name, each in effects.items()},
        {name: each[1:] for name, each in doubt.items()},
    )


class _Fitting:
    """The state of one fit; place 0 of every term stands for no level and stays at 0."""

    def __init__(
        self,
        count: FloatArray,
        exposure: FloatArray,
        codes: Mapping[str, IntArray],
        sizes: Mapping[str, int],
        usual_sd: Mapping[str, float],
        usual_dispersion: float,
    ) -> None:
        self.count, self.codes = count, codes
        # Half an event more, so that a kind that never came up has a rate.
        self.mean = exposure * max(count.sum(), 0.5) / exposure.sum()
        self.effects = {name: np.zeros(size + 1) for name, size in sizes.items()}
        self.weight = {name: np.zeros(size + 1) for name, size in sizes.items()}
        self.usual = {name: usual_sd.get(name, _USUAL_SD) ** 2 for name in sizes}
        self.variance = dict.fromkeys(sizes, _FIRST_SD**2)
        self.dispersion = self.usual_dispersion = usual_dispersion

    @property
    def doubt(self) -> dict[str, FloatArray]:
        """Variance of each level's effect given the others; none where there is no level."""
        found = {name: 1 / (self.weight[name] + 1 / self.variance[name]) for name in self.effects}
        for each in found.values():
            each[0] = 0.0
        return found

    def sweep(self, times: int) -> None:
        for number in range(times):
            shrunk = 1 / (1 + self.dispersion * self.mean)
            step = float(((self.count - self.mean) * shrunk).sum() / (self.mean * shrunk).sum())
            self.mean = self.mean * np.exp(np.clip(step, -_LONGEST_STEP, _LONGEST_STEP))
            for name in self.effects:
                self._step(name, shrunk, weigh=number % 3 == 0)
            if number > 0:
                self._spread(float((self.mean * shrunk).sum()))

    def _step(self, name: str, shrunk: FloatArray, *, weigh: bool) -> None:
        codes, effects = self.codes[name], self.effects[name]
        if weigh:
            self.weight[name] = np.bincount(codes, self.mean * shrunk, effects.size).astype(
                np.float64
            )
        slope = np.bincount(codes, (self.count - self.mean) * shrunk, effects.size)
        precision = 1 / self.variance[name]
        step = (slope - precision * effects) / (self.weight[name] + precision)
        step = np.clip(step, -_LONGEST_STEP, _LONGEST_STEP)
        step[0] = 0.0
        self.effects[name] = effects + step
        self.mean *= np.exp(step)[codes]

    def _spread(self, information: float) -> None:
        parameters = 0.0
        for name, doubt in self.doubt.items():
            known = (1 - doubt / self.variance[name])[1:]
            told = float(known.sum())
            squares = float((self.effects[name] ** 2).sum())
            spread = (squares + _LEVELS_OF_BELIEF * self.usual[name]) / (told + _LEVELS_OF_BELIEF)
            self.variance[name] = min(max(spread, _LEAST_SD**2), _GREATEST_SD**2)
            # What a shrunken fit takes out of the residuals: the trace of 2 H - H'H.
            parameters += float((2 * known - known**2).sum())
        squared = float((self.mean**2).sum())
        more = float(((self.count - self.mean) ** 2 - self.mean).sum())
        more += squared * parameters / information
        dispersion = (more + _RUNS_OF_BELIEF * self.usual_dispersion) / (squared + _RUNS_OF_BELIEF)
        self.dispersion = max(dispersion, _LEAST_DISPERSION)


def _at_even_steps(rows: IntArray) -> IntArray:
    if rows.size <= MOST_LEARNT_FROM:
        return rows
    return rows[np.linspace(0, rows.size - 1, MOST_LEARNT_FROM).astype(np.intp)]


def _levels(name: str, codes: IntArray, runs: int) -> int:
    if codes.shape != (runs,) or (codes < NO_LEVEL).any():
        raise KernelError(
            f"The codes of {name!r} must be {runs} whole numbers from 0, or {NO_LEVEL} for no "
            f"level; got shape {codes.shape}.",
            "Pass one code a run.",
        )
    return int(codes.max(initial=NO_LEVEL)) + 1
