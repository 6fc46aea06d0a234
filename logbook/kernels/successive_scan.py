"""Departures from what was to be expected, one after another.

The surest is found, named, and taken into the expectation before the next is sought, so that one
cause is told once and a great one hides no lesser (Zhang, Assunção & Kulldorff 2010, Biometrics
66:531-541, do so for spatial scans).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.scan import Search, likelihood_ratio, recurrence, scores
from logbook.kernels.setup_model.setups import IntArray
from logbook.kernels.usual_variation import (
    SharedLuck,
    drawn_counts,
    highest_count,
    more_variance,
)

DRAWS = 199
RARE_ENOUGH = 10.0
"""Steps of time between two as great by luck: what comes oftener is no finding."""
_FEW_RUNS = 80
_SAME_EXCESS, _SAME_RUNS = 0.5, 0.8
_OWN_EVIDENCE, _ENOUGH_LEFT = 4.0, 0.3
_NARROWER, _AS_LIKELY = 0.7, 1.5
_NEARLY_AS_LIKELY = 4.0
"""Log likelihood within which another level could as well be the cause."""


@dataclass(frozen=True, slots=True, eq=False)
class Panel:
    """Levels that are held against one expectation.

    Attributes
    ----------
    looked_at
        The levels and windows; all panels have the same windows.
    observed, expected
        (runs, kinds); 0 and 0 where the run did not record the kind.
    run_sd
        (kinds,) log-normal luck of runs.
    shared
        Luck that runs share.
    kind_weight
        (kinds,) how much of the search each kind is worth.
    """

    looked_at: Search
    observed: FloatArray
    expected: FloatArray
    run_sd: FloatArray
    shared: Sequence[SharedLuck]
    kind_weight: FloatArray


@dataclass(frozen=True, slots=True)
class Departure:
    """A level that departs from what was to be expected of it.

    Attributes
    ----------
    panel, level, kind
        Places.
    window
        Steps of time, ending now.
    score, recurrence
        How great, and how many steps pass between two as great where nothing changes.
    confounded
        Panels and levels that hold nearly the same runs, or explain it nearly as well.
    """

    panel: int
    level: int
    kind: int
    window: int
    score: float
    recurrence: float
    confounded: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Departures:
    """What was found, surest first, and the greatest scores of made-up presents."""

    found: tuple[Departure, ...]
    maxima: FloatArray


def departures(
    *,
    panels: Sequence[Panel],
    taken_in: Sequence[tuple[IntArray, int]] = (),
    draws: int = DRAWS,
    seed: int = 1,
    rare_enough: float = RARE_ENOUGH,
    most: int = 10,
) -> Departures:
    """Find departures, one after another.

    Parameters
    ----------
    panels
        At least one; all of the same runs and kinds.
    taken_in
        Runs and kind of what is known already: expected as it came, before the search begins.
    draws, seed
        Made-up presents.
    rare_enough
        Steps of time between two by luck that a finding must reach.
    most
        Findings.

    Returns
    -------
    Departures
    """
    looks = [_Look(panel, draws, seed) for panel in panels]
    maxima = np.max([each.maxima for each in looks], axis=0)
    for rows, kind in taken_in:
        for look in looks:
            look.take_in(rows, kind)
    found: list[Departure] = []
    while len(found) < most:
        place = max(range(len(looks)), key=lambda each: looks[each].best)
        score = looks[place].best
        weeks = recurrence(score, maxima) if np.isfinite(score) else 0.0
        if weeks < rare_enough:
            break
        named = _named(looks, place, score, weeks)
        rows = looks[named.panel].panel.looked_at.runs_of(named.level, named.window)
        apart = looks[named.panel].told_apart(rows, named)
        for look in looks:
            look.take_in(rows, named.kind, apart=apart)
        found.append(named)
    return Departures(tuple(found), maxima)


class _Look:
    """One panel under search: what is expected changes as findings are taken in."""

    def __init__(self, panel: Panel, draws: int, seed: int) -> None:
        self.panel, self.search = panel, panel.looked_at
        drawn = drawn_counts(
            expected=panel.expected,
            run_sd=panel.run_sd,
            shared=panel.shared,
            draws=draws,
            seed=seed,
        )
        made_up = np.concatenate([self.search.counted(each) for each in drawn], axis=-1)
        mean = made_up.mean(axis=-1, dtype=np.float64)
        self.mean = mean
        self.variance = self._variance(made_up)
        self.maxima: FloatArray = scores(
            self.search,
            observed=made_up,
            expected=mean[..., None].astype(np.float32),
            variance=self.variance[..., None].astype(np.float32),
            kind_weight=panel.kind_weight,
        ).max(axis=(0, 1, 2))
        highest = highest_count(expected=panel.expected, run_sd=panel.run_sd)
        self.counts = np.minimum(panel.observed, highest)
        self.observed = self.search.counted(self.counts)
        self.at_first = self.search.counted(panel.expected)
        self.expected = panel.expected.copy()
        self.scores = scores(
            self.search,
            observed=self.observed,
            expected=self.mean,
            variance=self.variance,
            kind_weight=panel.kind_weight,
        )

    def _variance(self, made_up: FloatArray) -> FloatArray:
        """Of the made-up counts; of cells with few runs, whose draws are few too, worked out."""
        cells = self.search.cells
        small = np.flatnonzero(np.diff(cells.indptr) <= _FEW_RUNS)
        mean = self.mean.reshape(-1, self.mean.shape[-1])
        found = made_up.var(axis=-1, dtype=np.float64).reshape(mean.shape)
        found[small] = mean[small] + more_variance(
            cells=cells[small],
            expected=self.panel.expected,
            run_sd=self.panel.run_sd,
            shared=self.panel.shared,
        )
        most: FloatArray = np.fmax(found, mean).reshape(self.mean.shape)
        return most

    @property
    def best(self) -> float:
        return float(self.scores.max())

    def told_apart(self, rows: IntArray, found: Departure) -> BoolArray:
        """Runs in which another cause is at work too: one that stands out without these runs."""
        ratio, due, excess, shared = self.within(found.window, rows, found.kind)
        window = self.search.windows.index(found.window)
        outside = due - shared
        came = self.observed[:, window, found.kind] - excess - shared
        luck = np.expm1(self.panel.run_sd[found.kind] ** 2) * outside**2
        alone = likelihood_ratio(observed=came, expected=outside, variance=outside + luck)
        others = np.sign(ratio[found.level]) * alone >= _OWN_EVIDENCE
        others &= (shared > 0) & (shared < _SAME_EXCESS * due[found.level])
        apart = np.zeros(self.expected.shape[0], dtype=bool)
        for level in np.flatnonzero(others):
            apart[self.search.runs_of(int(level), found.window)] = True
        left = self.expected[rows, found.kind][~apart[rows]].sum()
        enough = bool(left >= _ENOUGH_LEFT * due[found.level])
        return apart if enough else np.zeros_like(apart)

    def take_in(self, rows: IntArray, kind: int, *, apart: BoolArray | None = None) -> None:
        """Expect of these runs, step by step, what came; the luck of others stays what it is.

        How much more came is told by the runs that are not set apart.
        """
        step = self._steps()[rows]
        told = np.ones(rows.size) if apart is None else 1.0 - apart[rows]
        # Half a count more on both sides, so that a step without any is not expected to have none.
        came = np.bincount(step, self.counts[rows, kind] * told, self.search.steps) + 0.5
        due = np.bincount(step, self.expected[rows, kind] * told, self.search.steps) + 0.5
        self.expected[rows, kind] *= (came / due)[step]
        # A run of which more is to be expected may show more before it counts as odd.
        highest = highest_count(expected=self.expected[:, [kind]], run_sd=self.panel.run_sd[[kind]])
        self.counts[:, [kind]] = np.minimum(self.panel.observed[:, [kind]], highest)
        self.observed[..., [kind]] = self.search.counted(self.counts[:, [kind]])
        now = self.search.counted(self.expected[:, [kind]])[..., 0]
        first = self.at_first[..., kind]
        ratio = np.divide(now, first, out=np.ones_like(now), where=first > 0)
        mean = self.mean[..., kind] * ratio
        more = self.variance[..., kind] - self.mean[..., kind]
        own = self.panel.kind_weight[kind] / self.panel.kind_weight.mean()
        found = scores(
            self.search,
            observed=self.observed[..., [kind]],
            expected=mean[..., None],
            variance=(mean + more * ratio**2)[..., None],
        )
        self.scores[..., [kind]] = found + np.log(own)

    def _steps(self) -> IntArray:
        places = self.search.sums.tocoo()
        steps = np.zeros(self.expected.shape[0], dtype=np.intp)
        steps[places.coords[1]] = places.coords[0] % self.search.steps
        return steps

    def within(self, window: int, rows: IntArray, kind: int) -> tuple[FloatArray, ...]:
        """Of each level: likelihood by runs' own luck, and what it shares with some runs."""
        place = self.search.windows.index(window)
        expected, counts = self.expected[:, kind], self.counts[:, kind]
        own = np.zeros(expected.size)
        own[rows] = 1.0
        luck = np.expm1(self.panel.run_sd[kind] ** 2) * expected**2
        columns = np.column_stack(
            [counts, expected, luck, own * (counts - expected), own * expected]
        )
        observed, due, spread, excess, shared = self.search.counted(columns)[:, place].T
        ratio = likelihood_ratio(observed=observed, expected=due, variance=due + spread)
        return ratio, due, excess, shared


def _named(looks: Sequence[_Look], place: int, score: float, weeks: float) -> Departure:
    """Name the level that explains the best score best: lots differ anyway, yet one may be it."""
    look = looks[place]
    level, at, kind = np.unravel_index(int(look.scores.argmax()), look.scores.shape)
    window = look.search.windows[at]
    rows = look.search.runs_of(int(level), window)
    ratio, due, excess, _ = look.within(window, rows, int(kind))
    share = np.where(np.sign(ratio) == np.sign(ratio[level]), excess / excess[level], 0.0)
    likely = np.where(share >= _SAME_EXCESS, np.abs(ratio) + look.search.log_weight, -np.inf)
    # Of those that tell it as well, the narrowest: of a supplier's backing it is the lot.
    as_well = (likely >= likely.max() - _AS_LIKELY) & (share >= _NARROWER)
    as_well[likely.argmax()] = True
    named = int(np.where(as_well, due, np.inf).argmin())
    return Departure(
        panel=place,
        level=named,
        kind=int(kind),
        window=window,
        score=score,
        recurrence=weeks,
        confounded=_confounded(looks, place, named, window, int(kind)),
    )


def _confounded(
    looks: Sequence[_Look], place: int, level: int, window: int, kind: int
) -> tuple[tuple[int, int], ...]:
    rows = looks[place].search.runs_of(level, window)
    found: list[tuple[float, int, int]] = []
    for number, look in enumerate(looks):
        ratio, due, excess, shared = look.within(window, rows, kind)
        own = look.expected[rows, kind].sum()
        alike = (shared >= _SAME_RUNS * own) & (shared >= _SAME_RUNS * due)
        likely = np.abs(ratio) + look.search.log_weight
        if number == place:
            explains = np.abs(excess) >= _SAME_RUNS * abs(excess[level])
            explains &= np.sign(ratio) == np.sign(ratio[level])
            alike |= explains & (likely >= likely[level] - _NEARLY_AS_LIKELY)
            alike[level] = False
        found += [(-float(likely[each]), number, int(each)) for each in np.flatnonzero(alike)]
    return tuple((number, each) for _, number, each in sorted(found))
