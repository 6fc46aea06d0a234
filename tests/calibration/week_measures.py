"""How often weeks in which nothing happened are called more than usual, and bad ones are not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import polars as pl
from scipy.special import expit

from logbook.calendar_weeks import weeks_before
from logbook.questions.review.judging import judged_together
from logbook.vocabulary.defects import kind

USUAL = {
    "puckering": 0.04,
    "gaps": 0.02,
    "looping": 0.02,
    "sinking": 0.015,
    "shadowing": 0.012,
    "hoop_marks": 0.008,
    "needle_cuts": 0.004,
}
"""Kind → share of the pieces, about."""
LAST = "2026-W46"
BEFORE, DESIGNS, LOTS = 26, 200, 30


@dataclass(frozen=True, slots=True)
class JudgedWeek:
    """What the review said of a week: kinds called more, called less, to be watched.

    ``bad`` is how the kind was called whose pieces were made bad, None where nothing happened.
    """

    more: int
    less: int
    watched: int
    bad: str | None


def weeks_in_shops(
    *, shops: range, long_tails: bool, runs_a_week: int, weeks: int, every: int, times: float = 1.0
) -> list[JudgedWeek]:
    """Review weeks of invented shops whose lots, designs and runs differ and nothing else does.

    Parameters
    ----------
    shops
        Seeds.
    long_tails
        Whether runs, lots and designs differ much, runs with long tails.
    runs_a_week, weeks, every
        Of each shop; the last of every so many weeks is reviewed, after half a year's record.
    times
        How many times the usual rate of one kind is in each reviewed week; 1: as ever.
    """
    return [
        week
        for shop in shops
        for week in _of_shop(shop, long_tails, runs_a_week, weeks, every, times)
    ]


def _of_shop(
    shop: int, long_tails: bool, runs_a_week: int, weeks: int, every: int, times: float
) -> Iterator[JudgedWeek]:
    rng = np.random.default_rng([shop, 46])
    labels = [*weeks_before(LAST, BEFORE + weeks - 1), LAST]
    of_run = np.repeat(np.arange(len(labels)), runs_a_week)
    pieces = np.round(np.exp(rng.uniform(np.log(12), np.log(288), of_run.size))).astype(np.int64)
    exposure = np.bincount(of_run, weights=pieces)
    counts = {name: _counts(rng, of_run, pieces, rate, long_tails) for name, rate in USUAL.items()}
    kinds = [kind(name) for name in USUAL]
    for at in range(BEFORE, len(labels), every):
        bad, told = None, counts
        if times > 1:
            bad = str(rng.choice(list(USUAL)))
            more = rng.binomial(int(exposure[at]), (times - 1) * USUAL[bad])
            told = {**counts, bad: counts[bad] + more * (np.arange(len(labels)) == at)}
        cells = pl.concat(
            pl.DataFrame({"week": labels[: at + 1], "exposure": exposure[: at + 1]}).with_columns(
                pl.lit(name).alias("kind"),
                pl.lit(runs_a_week).alias("runs"),
                pl.Series("count", np.minimum(each, exposure)[: at + 1].astype(np.int64)),
            )
            for name, each in told.items()
        )
        judged = judged_together(cells, labels[at], kinds)
        yield JudgedWeek(
            more=sum(each.verdict == "more_than_usual" for each in judged),
            less=sum(each.verdict == "less_than_usual" for each in judged),
            watched=sum(each.watch for each in judged),
            bad=next((each.verdict for each in judged if each.kind.name == bad), None),
        )


def _counts(
    rng: np.random.Generator,
    of_run: np.ndarray,
    pieces: np.ndarray,
    usual: float,
    long_tails: bool,
) -> np.ndarray:
    """Count one kind by week: six families of lots are used up one after another."""
    sd_run, sd_lot, sd_design = (1.0, 0.5, 0.7) if long_tails else (0.5, 0.3, 0.4)
    luck = rng.normal(0, 1, of_run.size)
    if long_tails:
        luck = luck * np.sqrt(np.minimum(4 / rng.chisquare(6, of_run.size), 9))
    popular = rng.permutation(1.0 / np.arange(1, DESIGNS + 1) ** 0.7)
    design = rng.choice(DESIGNS, of_run.size, p=popular / popular.sum())
    family = rng.integers(0, 6, of_run.size)
    used_up = LOTS / 6 * of_run / (of_run.max() + 1) + rng.random(6)[family]
    lot = 10 * family + np.floor(used_up).astype(np.int64)
    effects = rng.normal(0, sd_design, DESIGNS)[design] + rng.normal(0, sd_lot, 70)[lot]
    middle = np.log(usual) - (sd_run**2 + sd_design**2 + sd_lot**2) / 2
    count = rng.binomial(pieces, expit(middle + effects + sd_run * luck))
    return np.bincount(of_run, weights=count)


@dataclass(frozen=True, slots=True)
class WeekSummary:
    """Shares of the weeks in percent; ``watched`` of the kinds and weeks."""

    weeks: int
    some_more: float
    some_less: float
    watched: float
    bad_found: float


def week_summary(found: list[JudgedWeek]) -> WeekSummary:
    """Sum up."""
    bad = [each for each in found if each.bad is not None]
    return WeekSummary(
        weeks=len(found),
        some_more=100 * float(np.mean([each.more > 0 for each in found])),
        some_less=100 * float(np.mean([each.less > 0 for each in found])),
        watched=100 * float(np.mean([each.watched for each in found])) / len(USUAL),
        bad_found=100 * float(np.mean([each.bad == "more_than_usual" for each in bad]))
        if bad
        else np.nan,
    )
