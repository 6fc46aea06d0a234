"""Whether one of several places takes more than its share of events: heads, needles, colours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import gammaincc

from logbook.errors import KernelError
from logbook.kernels.arguments import FloatArray, Values, as_floats, line_of_points, non_negative
from logbook.kernels.grouped import design_effect
from logbook.kernels.intervals import proportion

DRAWS = 20_000
_BLOCK = 2_000
_SAME = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class EventSharesFit:
    """Events of several places held against the work that each did.

    Attributes
    ----------
    share, lower, upper
        (K,) share of the events in each place with its interval (Wilson).
    expected_share
        (K,) share of the work, and of the events if all places were alike.
    chi_square, chi_square_p
        Pearson's statistic and its p-value by the chi-square distribution.
    p_value
        The same statistic's p-value by drawing events from the expected shares.
    largest
        Index of the place furthest above its share, in standard errors.
    largest_p
        p-value of its excess, having looked at every place, and as if there were as many fewer
        events as their groups hang together.
    groups
        How many groups (runs) had events.
    draws
        How many draws the two rest on.
    """

    share: FloatArray
    lower: FloatArray
    upper: FloatArray
    expected_share: FloatArray
    chi_square: float
    chi_square_p: float
    p_value: float
    largest: int
    largest_p: float
    groups: int
    draws: int


def against_expected(
    *, count: Values, work: Values, level: float = 0.95, draws: int = DRAWS, seed: int = 1
) -> EventSharesFit:
    """Test whether events fall on places in proportion to the work that each did.

    Parameters
    ----------
    count
        (K,) whole events by place; or (G, K), by group (run) and place, since events of one run
        seldom fall independently.
    work
        (K,) what each did (stitches); only proportions matter.
    level
        Of the intervals, each for itself.
    draws, seed
        How many sets of events are drawn, and where they start from.

    Raises
    ------
    KernelError
        Fewer than two places, no events, no work, or events where no work was done.

    Notes
    -----
    Pearson (1900), Philosophical Magazine 50:157-175; p-values by drawing from the multinomial
    with the observed set as one more draw (Phipson & Smyth 2010, Stat Appl Genet Mol Biol 9:39).
    ``largest_p`` compares the largest (O - E) / sqrt(E (1 - E / n)) of the places with the
    largest of each drawn set, so that having picked the worst place is allowed for. Where groups
    are told, that place's excess is divided by the root of their design effect, the sets are
    drawn with as many fewer events, and each place's interval is widened by its own (Kish 1965;
    see :func:`logbook.kernels.grouped.design_effect`).
    """
    by_group = np.atleast_2d(non_negative(as_floats(count, "count"), "count"))
    counts = by_group.sum(axis=0)
    works = non_negative(line_of_points(as_floats(work, "work"), "work"), "work")
    _refuse(counts, works, draws)
    effects = _effects(by_group, level) if np.ndim(count) > 1 else np.ones(counts.size)
    events = float(counts.sum())
    expected = works / works.sum()
    sure = expected > 0
    means = events * expected
    spread = np.sqrt(np.where(sure, means * (1.0 - expected), 1.0))

    def chi(sets: FloatArray) -> FloatArray:
        terms = np.where(sure, (sets - means) ** 2 / np.where(sure, means, 1.0), 0.0)
        return np.asarray(terms.sum(axis=-1))

    def excess(sets: FloatArray) -> FloatArray:
        return np.where(sure, (sets - means) / spread, -np.inf)

    statistic = float(chi(counts))
    largest = int(np.argmax(excess(counts)))
    reached = float(excess(counts)[largest])
    fewer = max(1, round(events / float(effects[largest])))
    shrunk = reached / float(np.sqrt(events / fewer))
    random = np.random.default_rng(seed)
    beyond = beyond_largest = 0
    for start in range(0, draws, _BLOCK):
        size = min(_BLOCK, draws - start)
        sets = random.multinomial(int(events), expected, size=size).astype(np.float64)
        beyond += int(np.count_nonzero(chi(sets) >= statistic - _SAME * (1.0 + statistic)))
        if fewer < events:
            sets = random.multinomial(fewer, expected, size=size).astype(np.float64)
            sets *= events / fewer
        most = excess(sets).max(axis=1) * np.sqrt(fewer / events)
        beyond_largest += int(np.count_nonzero(most >= shrunk - _SAME * (1.0 + abs(shrunk))))
    trials = events / effects
    bounds = proportion(count=counts / effects, trials=trials, level=level)
    freedom = int(np.count_nonzero(sure)) - 1
    return EventSharesFit(
        share=counts / events,
        lower=bounds.lower,
        upper=bounds.upper,
        expected_share=expected,
        chi_square=statistic,
        chi_square_p=float(gammaincc(freedom / 2.0, statistic / 2.0)),
        p_value=(beyond + 1) / (draws + 1),
        largest=largest,
        largest_p=(beyond_largest + 1) / (draws + 1),
        groups=int(np.count_nonzero(by_group.sum(axis=1))),
        draws=draws,
    )


def _effects(by_group: FloatArray, level: float) -> FloatArray:
    sizes = by_group.sum(axis=1)
    held = by_group[sizes > 0]
    return np.array(
        [
            design_effect(inside=held[:, place], sizes=held.sum(axis=1), level=level)
            for place in range(by_group.shape[1])
        ]
    )


def _refuse(counts: FloatArray, works: FloatArray, draws: int) -> None:
    if counts.shape != works.shape or np.count_nonzero(works) < 2:
        raise KernelError(
            f"At least two places that did work are needed, with one count each; got "
            f"{counts.size} counts and {np.count_nonzero(works)} places.",
            "One place alone cannot be compared.",
        )
    if not counts.sum() or (counts != np.round(counts)).any():
        raise KernelError("Events must be whole, and at least one.", "Count the events.")
    if (counts[works == 0] > 0).any():
        raise KernelError(
            "There are events in a place that did no work.", "Check what each place sewed."
        )
    if draws < 1:
        raise KernelError(f"At least one draw is needed; got {draws!r}.", "Leave it at the usual.")
