"""Candidates weighed by the model: what is worth suggesting, and in which order."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import polars as pl

from logbook.adjusted_comparison import (
    ExpectedSaving,
    FittedKind,
    Prediction,
    UnitCosts,
    predict_setups,
)
from logbook.adjusted_comparison.evidence import evidence_together
from logbook.questions.advice.candidates import Candidate, double_changes, single_changes
from logbook.questions.advice.job import Job
from logbook.questions.advice.materials import Materials
from logbook.questions.advice.suggestion import Evidence
from logbook.questions.advice.watch import against_common_practice, against_plain_counts

EVIDENCE: tuple[Evidence, ...] = ("strong", "fair", "thin")
MOST_SUGGESTED = 5
MOST_THIN = 2
PAIRED = 8
"""The most promising single changes so many are put together two by two."""
LEAST_SAVED_SHARE = 0.02
"""A saving of a smaller share of what materials and defects cost now is not worth a word."""
_PRICED = {"backing", "backing_supplier", "backing_layers", "weight_band"}
"""Parts of the setup that the price of a sheet depends on."""
FEWEST_PIECES_TOGETHER = 50.0
"""Two changes together are weighed where so many like pieces had both."""


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """One supported candidate with what the model says of it.

    ``evidence`` of two changes together is no better than that of the weaker of the two alone, and
    that of a change from what no run on record has is thin: nothing is known of it.
    ``price_known`` is False where its backing changes and either has no price: the saving then
    leaves prices of backing out. So does ``topping_price_known`` with the topping.
    ``said_against`` says which common practice or plain counts speak against it; where they weigh
    enough it is ``doubted``, and its evidence thin.
    """

    candidate: Candidate
    predicted: Prediction
    saved: ExpectedSaving
    price_known: bool
    topping_price_known: bool
    evidence: Evidence
    said_against: tuple[str, ...] = ()
    doubted: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Ranked:
    """The setup now, every supported candidate, and those worth suggesting in order."""

    now: Prediction
    weighed: tuple[Weighed, ...]
    chosen: tuple[Weighed, ...]


def ranked(
    fitted: Sequence[FittedKind],
    like: pl.DataFrame,
    job: Job,
    *,
    defective: Mapping[str, float],
    materials: Materials,
    attributes: Mapping[str, str],
    level: float,
) -> Ranked:
    """Weigh single changes, then the best of them two by two.

    Parameters
    ----------
    fitted
        Models of the kinds; not empty.
    like
        Cells of any defect in words, on the job's fabric.
    job
        Job and setup now.
    defective
        Kind → cost of a defective piece.
    materials
        Prices of backing and topping.
    attributes
        Of the fabric, as rules of thumb name them.
    level
        Two-sided confidence level.

    Notes
    -----
    Nothing is weighed that the record does not support
    (:mod:`logbook.kernels.setup_model.support`).
    Of two changes together only those are suggested that save more than each of the two alone.
    """
    now, singles = _weighed(fitted, job, single_changes(like, job), defective, materials, level)
    ones = _best_first([_doubted(each, like, job, attributes) for each in singles])
    twos = _weighed(
        fitted,
        job,
        double_changes([each.candidate for each in ones[:PAIRED] if each.saved.expected > 0]),
        defective,
        materials,
        level,
    )[1]
    parts = (materials.of(job.setup), materials.topping(job.setup))
    least = LEAST_SAVED_SHARE * _cost_now(now, defective, sum(filter(math.isfinite, parts)))
    better_together = [
        _doubted_as_parts(two, ones)
        for two in twos
        if two.predicted.support.pieces >= FEWEST_PIECES_TOGETHER
        and _beats_its_parts(two, ones, by=least)
    ]
    good = [each for each in ones if each.saved.expected >= least]
    chosen = [each for each in good if each.evidence != "thin" and each.saved.told >= least]
    chosen = chosen[:MOST_SUGGESTED]
    chosen += sorted((two for two in better_together if two.evidence != "thin"), key=_by_saving)[
        : MOST_SUGGESTED - 2
    ]
    thin = [each for each in good if each.evidence == "thin"][:MOST_THIN]
    return Ranked(now, (*ones, *twos), (*chosen, *thin))


def _cost_now(now: Prediction, defective: Mapping[str, float], material: float) -> float:
    """What materials and defects of a piece cost with the setup now."""
    return math.fsum(defective[name] * rate for name, rate in now.by_kind.items()) + material


def _best_first(weighed: Sequence[Weighed]) -> list[Weighed]:
    """By the savings told; what stands beside the best must be surer than that to be strong."""
    ones = sorted(weighed, key=_by_saving)
    together = evidence_together([each.saved for each in ones], [each.evidence for each in ones])
    return [replace(each, evidence=said) for each, said in zip(ones, together, strict=True)]


def _by_saving(each: Weighed) -> tuple[float, str]:
    return -each.saved.told, repr(sorted(each.candidate.changes.items(), key=repr))


def _doubted_as_parts(two: Weighed, ones: Sequence[Weighed]) -> Weighed:
    parts = _parts(two, ones)
    return replace(
        two,
        evidence=max((two.evidence, *(one.evidence for one in parts)), key=EVIDENCE.index),
        said_against=tuple(dict.fromkeys(said for one in parts for said in one.said_against)),
        doubted=any(one.doubted for one in parts),
    )


def _beats_its_parts(two: Weighed, ones: Sequence[Weighed], *, by: float) -> bool:
    return all(two.saved.told >= one.saved.told + by for one in _parts(two, ones))


def _parts(two: Weighed, ones: Sequence[Weighed]) -> list[Weighed]:
    changes = two.candidate.changes.items()
    return [one for one in ones if one.candidate.changes.items() <= changes]


def _doubted(each: Weighed, like: pl.DataFrame, job: Job, attributes: Mapping[str, str]) -> Weighed:
    """Lower the evidence to thin where common practice or plain counts say otherwise."""
    changes = each.candidate.changes
    practice, weighs = against_common_practice(attributes, job.whole(), changes)
    counts = against_plain_counts(like, job.setup, changes)
    doubted = weighs or bool(counts)
    return replace(
        each,
        said_against=(*practice, *counts),
        doubted=doubted,
        evidence="thin" if doubted else each.evidence,
    )


def _weighed(
    fitted: Sequence[FittedKind],
    job: Job,
    candidates: Sequence[Candidate],
    defective: Mapping[str, float],
    materials: Materials,
    level: float,
) -> tuple[Prediction, list[Weighed]]:
    setups = [job.setup, *({**job.setup, **each.changes} for each in candidates)]
    backing, backing_known = _against_now([materials.of(setup) for setup in setups])
    topping, topping_known = _against_now([materials.topping(setup) for setup in setups])
    now, *changed = predict_setups(
        fitted,
        job=job.whole(),
        candidates=[each.changes for each in candidates],
        costs=UnitCosts(defective, [sum(costs) for costs in zip(backing, topping, strict=True)]),
        level=level,
    )
    return now, [
        Weighed(
            candidate,
            predicted,
            predicted.money,
            sure or not _PRICED & set(candidate.changes),
            topping_sure or "topping" not in candidate.changes,
            "thin" if set(candidate.changes) & set(job.unseen) else predicted.money.evidence,
        )
        for candidate, predicted, sure, topping_sure in zip(
            candidates, changed, backing_known, topping_known, strict=True
        )
        if predicted.support.enough and predicted.money is not None
    ]


def _against_now(costs: Sequence[float]) -> tuple[list[float], list[bool]]:
    """Costs with the setup now first, and of each other whether both prices are known.

    Without both prices the difference between them is left out, not guessed.
    """
    now, *changed = costs
    known = [math.isfinite(now) and math.isfinite(cost) for cost in changed]
    start = now if math.isfinite(now) else 0.0
    counted = [cost if sure else start for cost, sure in zip(changed, known, strict=True)]
    return [start, *counted], known
