"""Trials of a change in shops whose truth is known.

Both small runs of a pair share what the hour brings; each has luck of its own besides, and each
lot of backing is better or worse than others of its kind. All of it adds up in log odds. The
rates that a trial is about are averages over hours, runs and lots.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import brentq
from scipy.special import expit, logit


@dataclass(frozen=True, slots=True)
class TrialWorld:
    """How a shop's runs differ: standard deviations in log odds."""

    run_sd: float
    heavy_tails: bool = False
    hour_sd: float = 0.3
    lot_sd: float = 0.0
    uneven_pieces: bool = False

    @property
    def overdispersion(self) -> float:
        """What a record of such runs would show, for small rates, to first order."""
        return self.run_sd**2


BASE = TrialWorld(run_sd=0.3**0.5)
HEAVY = TrialWorld(run_sd=1.0, heavy_tails=True)
UNEVEN = TrialWorld(run_sd=0.3**0.5, uneven_pieces=True)


@dataclass(frozen=True, slots=True)
class TrialCounts:
    """One trial: (R,) arrays, one entry a pair."""

    count_now: np.ndarray
    pieces_now: np.ndarray
    count_changed: np.ndarray
    pieces_changed: np.ndarray

    def first(self, pairs: int) -> TrialCounts:
        """What was known after so many pairs."""
        return TrialCounts(*(getattr(self, name)[:pairs] for name in self.__slots__))

    def as_arguments(self) -> dict[str, np.ndarray]:
        return {name: getattr(self, name) for name in self.__slots__}


def luck_of_runs(random: np.random.Generator, world: TrialWorld, size: int) -> np.ndarray:
    luck = random.normal(0, world.run_sd, size)
    if world.heavy_tails:
        luck *= np.sqrt(np.clip(4 / random.chisquare(6, size), 0, 9))
    return luck


def centre_of(world: TrialWorld, rate: float) -> float:
    """Log odds around which runs of an average ``rate`` lie."""
    if rate == 0:
        return -np.inf
    random = np.random.default_rng(7)
    size = 200_000
    off = luck_of_runs(random, world, size) + random.normal(
        0, np.hypot(world.hour_sd, world.lot_sd), size
    )
    return float(brentq(lambda middle: expit(middle + off).mean() - rate, logit(rate) - 4, 4))


def overdispersion_on_record(world: TrialWorld, rate: float) -> float:
    """What a long record of runs would show: larger than ``run_sd**2`` where tails are long."""
    random = np.random.default_rng(8)
    luck = luck_of_runs(random, world, 200_000)
    spread = float(np.var(expit(centre_of(replace(world, hour_sd=0.0), rate) + luck)))
    return spread / (rate * (1 - rate)) ** 2


def sew(
    random: np.random.Generator,
    world: TrialWorld,
    *,
    centres: tuple[float, float],
    pairs: int,
    pieces: int,
    lots: int = 1,
) -> TrialCounts:
    """Sew one trial; lots of each arm are taken in turn."""
    hour = random.normal(0, world.hour_sd, pairs)
    turn = np.arange(pairs) * lots // pairs
    arms = []
    for centre in centres:
        lot = random.normal(0, world.lot_sd, lots)[turn]
        size = np.full(pairs, pieces)
        if world.uneven_pieces:
            size = np.maximum(random.geometric(1 / pieces, pairs), 5)
        rate = expit(centre + hour + lot + luck_of_runs(random, world, pairs))
        arms += [random.binomial(size, rate), size]
    return TrialCounts(*arms)
