"""How good the best supported change of a setup is, in shops whose truth is known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl
from advice_worlds import Trap, world
from invented_runs import (
    SIMULATED_AS,
    Runs,
    Setup,
    cells_of,
    density_bands,
    draw_runs,
    true_rate,
)
from invented_shops import KINDS, Shop
from supplier_measures import kind_named

from logbook.adjusted_comparison import (
    FittedKind,
    Prediction,
    fit_kinds,
    pooled_kinds,
    predict_setups,
)
from logbook.adjusted_comparison.evidence import evidence_together
from logbook.adjusted_comparison.predictions import support_of
from logbook.questions.advice.analyse import KINDS_ALONE

CHANGED = (
    *("backing", "weight_band", "backing_layers", "backing_supplier"),
    *("topping", "needle_nm", "hooping"),
)


@dataclass(frozen=True, slots=True)
class Advised:
    """One job of one shop: what was advised, what it would bring, what the best would have.

    ``strong`` are the changed column and true saving of each strong suggestion, that told to save
    most first; ``strong_told`` the saving told of it. ``trapped`` are columns whose usual effect is
    turned round on the job's fabric.
    """

    strong: tuple[tuple[str, float], ...]
    strong_told: float
    trapped: tuple[str, ...]
    guess: float
    promised: float
    real: float
    best: float
    covered: tuple[bool, ...]
    chosen_covered: bool


def advise_in_worlds(scenario: str, *, worlds: range, runs: int, jobs: int) -> list[Advised]:
    """Ask for one change in some jobs of each shop, if any change is supported."""
    found = []
    for seed in worlds:
        with world(scenario, seed) as (shop, trap):
            drawn = draw_runs(shop, runs, seed)
            cells = cells_of(drawn, KINDS)
            kinds = [kind_named(name) for name in KINDS]
            counts = dict(cells.group_by("kind").agg(pl.col("count").sum()).iter_rows())
            most = sorted(kinds, key=lambda kind: -counts[kind.name])[:KINDS_ALONE]
            pooled = pooled_kinds(cells, kinds=kinds, separate=most)
            fitted = fit_kinds(pooled.cells, kinds=pooled.kinds)
            chosen = np.random.default_rng([seed, 33]).choice(runs, jobs, replace=False)
            asked = (_advised(shop, drawn, fitted, int(row), trap) for row in chosen)
            found += [each for each in asked if each is not None]
    return found


def _advised(
    shop: Shop, drawn: Runs, fitted: Sequence[FittedKind], row: int, trap: Trap
) -> Advised | None:
    codes = {name: each[[row]] for name, each in drawn.setup.items()}
    job = {name: words[int(codes[name_in][0])] for name, (name_in, words) in SIMULATED_AS.items()}
    job |= {
        "design": f"Design {int(codes['design'][0])}",
        "density_band": density_bands(codes)[0],
    }
    candidates = [
        {name: word}
        for name in CHANGED
        for word in SIMULATED_AS[name][1]
        if word != job[name] and support_of(fitted[0].rows, job=job, changes={name: word}).enough
    ]
    if not candidates:
        return None
    now, *changed = predict_setups(fitted, job=job, candidates=candidates)
    truths = _true_savings(shop, codes, candidates, drawn.time[[row]])
    assert now.saved.expected == 0
    covered = tuple(
        each.saved.interval[0] <= truth <= each.saved.interval[1]
        for each, truth in zip(changed, truths, strict=True)
    )
    by_saving = sorted(range(len(changed)), key=lambda index: -changed[index].saved.told)
    savings = [changed[index].saved for index in by_saving]
    together = evidence_together(savings, [each.evidence for each in savings])
    strong = [index for index, said in zip(by_saving, together, strict=True) if said == "strong"]
    pick = by_saving[0]
    best: Prediction = changed[pick]
    return Advised(
        strong=tuple((next(iter(candidates[index])), float(truths[index])) for index in strong),
        strong_told=changed[strong[0]].saved.told if strong else np.nan,
        trapped=tuple(name for name, fabrics in trap.items() if job["fabric"] in fabrics),
        guess=best.saved.expected,
        promised=best.saved.told,
        real=float(truths[pick]),
        best=max(float(truths.max()), 0.0),
        covered=covered,
        chosen_covered=covered[pick],
    )


def _true_savings(
    shop: Shop, codes: Setup, candidates: Sequence[dict[str, str]], time: np.ndarray
) -> np.ndarray:
    count = len(candidates) + 1
    setup = {name: np.repeat(each, count) for name, each in codes.items()}
    for index, changes in enumerate(candidates, start=1):
        for name, word in changes.items():
            simulated, words = SIMULATED_AS[name]
            setup[simulated][index] = words.index(word)
    rates = true_rate(shop, setup, "any", np.repeat(time, count))
    return np.asarray(rates[0] - rates[1:])


@dataclass(frozen=True, slots=True)
class AdviceSummary:
    """Shares in percent; savings in points, where one is told of.

    ``strong_truly_better``: of all strong suggestions; ``wrong_way``: of the jobs on a fabric with
    a trap, those with a strong suggestion that falls into it. ``strong_told`` and ``strong_real``
    are of the first strong one.
    """

    jobs: int
    truly_better: float
    strong: float
    strong_truly_better: float
    strong_told: float
    strong_real: float
    wrong_way: float
    guess: float
    promised: float
    real: float
    regret: float
    best: float
    coverage: float
    coverage_of_chosen: float


def advice_summary(found: list[Advised]) -> AdviceSummary:
    """Sum up; a job of which no saving is told keeps its setup and gains nothing."""
    taken = [each for each in found if each.promised > 0]
    strong = [each for each in found if each.strong]
    gained = [each.real if each.promised > 0 else 0.0 for each in found]
    trapped = [each for each in found if each.trapped]
    regrets = [each.best - gain for each, gain in zip(found, gained, strict=True)]
    return AdviceSummary(
        jobs=len(found),
        truly_better=100 * float(np.mean([each.real > 0 for each in taken])),
        strong=100 * len(strong) / len(found),
        strong_truly_better=_share([real > 0 for each in strong for _, real in each.strong]),
        strong_told=100 * float(np.mean([each.strong_told for each in strong] or [np.nan])),
        strong_real=100 * float(np.mean([each.strong[0][1] for each in strong] or [np.nan])),
        wrong_way=_share(
            [
                any(real < 0 and name in each.trapped for name, real in each.strong)
                for each in trapped
            ]
        ),
        guess=100 * float(np.mean([each.guess for each in taken])),
        promised=100 * float(np.mean([each.promised for each in taken])),
        real=100 * float(np.mean([each.real for each in taken])),
        regret=100 * float(np.mean(regrets)),
        best=100 * float(np.mean([each.best for each in found])),
        coverage=100 * float(np.mean([hit for each in found for hit in each.covered])),
        coverage_of_chosen=100 * float(np.mean([each.chosen_covered for each in taken])),
    )


def _share(hits: Sequence[bool]) -> float:
    return 100 * float(np.mean(hits)) if hits else np.nan
