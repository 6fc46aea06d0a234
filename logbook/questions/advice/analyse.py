"""Which setup the shop's own record favours for a job, by how much, on what evidence."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import polars as pl

from logbook.adjusted_comparison import OTHERS, FittedKind, PooledKinds, fit_kinds, pooled_kinds
from logbook.adjusted_comparison.terms import LOT
from logbook.cells import with_kind
from logbook.errors import TooLittleData
from logbook.good_piece import Losses, losses_of
from logbook.questions.advice.job import SETUP, Job, attributes_of, in_words, job_from
from logbook.questions.advice.materials import Materials
from logbook.questions.advice.ranking import Ranked, Weighed, ranked
from logbook.questions.advice.result import AdviceResult
from logbook.questions.advice.rules import expected_kinds, rules_here
from logbook.questions.advice.suggestion import Change, KindEffect, Suggestion, changes_between
from logbook.questions.advice.trials import OF_A_LOT, TrialPlan, trial_for
from logbook.questions.advice.watch import cautions_of, ills_seen
from logbook.runs.factors import factor_label, level_label
from logbook.shop import Shop
from logbook.vocabulary.defects import ANY, DefectKind
from logbook.wording import number

KINDS_ALONE = 6
"""Kinds of defect that are modelled by themselves; the rest together."""
FEARED_ALONE = 1
"""So many of these are kinds that rules of thumb expect of the setup now."""
FEWEST_FOR_OWN_COST = 50
"""Defects of a kind from which on its own losses say what it costs."""
BY_PRICE_ALONE = (
    "It saves by the price of materials, not by fewer defects: count defects on the first pieces, "
    "and go back if they rise."
)
LARGEST_TRIAL_STEP, SMALLEST_TRIAL_STEP = 1.0, 0.25
"""A trial looks for the expected saving, but for no less than a quarter of the rate now."""


def advise(
    cells: pl.DataFrame,
    *,
    shop: Shop,
    weights: pl.DataFrame,
    fabric: str,
    design: str | None = None,
    density: float | None = None,
    fabric_shade: str | None = None,
    setup: Mapping[str, str] | None = None,
    level: float = 0.95,
) -> AdviceResult:
    """Suggest changes of a setup for a job.

    Parameters
    ----------
    cells
        Cells of all piece kinds and of ``any``, grouped by
        :data:`logbook.adjusted_comparison.CELLS_BY`.
    shop
        Kinds, prices and costs.
    weights
        Whole-run sums grouped by ``WEIGHTS_BY``.
    fabric, design, density, fabric_shade, setup
        The job, see :func:`logbook.questions.advice.job.job_from`.
    level
        Two-sided confidence level.

    Returns
    -------
    AdviceResult
        Single changes ranked by expected saving in money, then double ones. A change of which
        like jobs have too few runs is not in it.

    Raises
    ------
    TooLittleData
        No run is on the fabric, or too few defects are on record to model.

    Notes
    -----
    A saving is that of backing and topping at today's prices and of defective pieces, each kind
    at what the shop's own record says of spoilage and rework. A topping is taken to be as large
    as a sheet of backing. Told is what comes true on average of suggestions picked as best
    (:mod:`logbook.kernels.setup_model.no_difference`); ``strong`` from a chance of 0.915 to be
    better (beside a better one from 0.95), ``fair`` from 0.7, ``thin`` where well
    agreed practice or plain counts say otherwise.
    Measured on invented shops whose truth is known in ``tests/calibration``.
    """
    worded = in_words(cells)
    whole = with_kind(worded, ANY.name)
    job = job_from(
        whole,
        fabric=fabric,
        design=design,
        density=density,
        fabric_shade=fabric_shade,
        setup=setup,
    )
    like = worded.filter(pl.col("fabric") == fabric)
    pooled = _pooled(worded, like, shop, job)
    fitted = fit_kinds(pooled.cells, kinds=pooled.kinds)
    if not fitted:
        raise TooLittleData(
            "Too few defects are on record to tell one setup from another.",
            "log more runs with their defects counted",
            needed=5,
            got=int(whole["count"].sum()),
            unit="defective pieces",
        )
    losses = losses_of(whole, shop.costs)
    defective = {each.kind.name: _cost_of(each.kind, pooled.cells, losses, shop) for each in fitted}
    attributes = attributes_of(fabric, shop)
    best = ranked(
        fitted,
        like.filter(pl.col("kind") == ANY.name),
        job,
        defective=defective,
        materials=Materials(shop, weights),
        attributes=attributes,
        level=level,
    )
    rates = {each.kind.name: each for each in fitted}
    suggestions = tuple(_suggestion(each, best, job, like, pooled, rates) for each in best.chosen)
    return AdviceResult(
        job=job,
        expected_rate=best.now.rate,
        interval=best.now.rate_interval,
        runs=best.now.support.runs,
        pieces=best.now.support.pieces,
        suggestions=suggestions,
        candidates=len(best.weighed),
        rules=rules_here(job, attributes, best),
        level=level,
        currency=shop.currency,
        notes=(*_notes(job, pooled, fitted, losses, shop), *_prices_lacking(suggestions)),
    )


def _pooled(worded: pl.DataFrame, like: pl.DataFrame, shop: Shop, job: Job) -> PooledKinds:
    """Model by themselves a kind that common practice expects here and those shown most.

    Where no kind is recorded, any defect is.
    """
    charged = [kind for kind in shop.kinds if kind.measure == "pieces" and kind.charged_to_setup]
    counts = dict(like.group_by("kind").agg(pl.col("count").sum()).iter_rows())
    kept = [kind for kind in charged if counts.get(kind.name) is not None]
    if sum(counts[kind.name] for kind in kept) == 0:
        return PooledKinds(with_kind(worded, ANY.name), (ANY,), (), ())
    feared = expected_kinds(job, attributes_of(job.fabric, shop))
    kept.sort(key=lambda kind: -counts[kind.name])
    first = [kind for kind in kept if kind.name in feared and counts[kind.name] > 0][:FEARED_ALONE]
    kept = [*first, *(kind for kind in kept if kind not in first)]
    return pooled_kinds(worded, kinds=kept, separate=kept[:KINDS_ALONE])


def _cost_of(kind: DefectKind, cells: pl.DataFrame, losses: Losses, shop: Shop) -> float:
    """Cost of a defective piece of a kind, in the shop's currency.

    Where nobody wrote down what became of defective pieces, each is taken as reworked.
    """
    own = with_kind(cells, kind.name)
    if int(own["count"].sum()) >= FEWEST_FOR_OWN_COST:
        own_losses = losses_of(own, shop.costs)
        if math.isfinite(own_losses.spoiled):
            losses = own_losses
    if math.isfinite(losses.spoiled):
        return losses.per_defective(shop.costs.piece_value)
    return shop.costs.rework_minutes_per_piece * shop.costs.labour_minute


def _suggestion(
    each: Weighed,
    best: Ranked,
    job: Job,
    like: pl.DataFrame,
    pooled: PooledKinds,
    fitted: Mapping[str, FittedKind],
) -> Suggestion:
    changes, predicted, saved = each.candidate.changes, each.predicted, each.saved
    told = changes_between(job.setup, changes)
    lower, upper = saved.interval
    return Suggestion(
        changes=told,
        expected_rate=min(best.now.rate - predicted.saved.told, predicted.rate_interval[1]),
        interval=predicted.rate_interval,
        saving_per_100=100 * saved.told,
        saving_interval=(100 * lower, 100 * upper),
        best_guess_per_100=100 * saved.expected,
        pieces_saved_per_100=100 * predicted.saved.told,
        pieces_saved_interval=(
            100 * predicted.saved.interval[0],
            100 * predicted.saved.interval[1],
        ),
        chance_better=saved.chance_better,
        evidence=each.evidence,
        doubted=each.doubted,
        runs=predicted.support.runs,
        pieces=predicted.support.pieces,
        by_kind=tuple(
            KindEffect(name, fitted[name].kind.label, best.now.by_kind[name], rate)
            for name, rate in predicted.by_kind.items()
        ),
        cautions=(
            *ills_seen(like, job.setup, changes, pooled.pooled),
            *each.said_against,
            *(() if each.price_known else (_unpriced(job, changes),)),
            *((BY_PRICE_ALONE,) if predicted.saved.told <= 0 else ()),
            *cautions_of(changes, topping_priced=each.topping_price_known),
        ),
        trial=(
            _trial(each, told, best, fitted)
            if each.evidence != "strong" and predicted.saved.expected > 0
            else None
        ),
        uncounted=(
            *(() if each.price_known else ("the price of backing",)),
            *(() if each.topping_price_known else _films(changes)),
        ),
    )


def _prices_lacking(suggestions: Sequence[Suggestion]) -> tuple[str, ...]:
    if not any(each.uncounted for each in suggestions):
        return ()
    return ("Prices that are not known are written on the page Materials, or in shop.toml.",)


def _films(changes: Mapping[str, str | None]) -> tuple[str, ...]:
    film = changes.get("topping")
    return () if film in (None, "none") else ("the price of the film",)


def _unpriced(job: Job, changes: Mapping[str, str | None]) -> str:
    after = {**job.setup, **changes}
    backing = level_label("backing", after.get("backing")).lower()
    supplier = after.get("backing_supplier")
    named = "what is used now" if after.get("backing") == "none" else f"{supplier}'s {backing}"
    other = "" if after.get("backing") == "none" else ", or of what is used now,"
    return f"The price of {named}{other} is not known: the saving leaves backing out."


def _trial(
    each: Weighed, changes: Sequence[Change], best: Ranked, fitted: Mapping[str, FittedKind]
) -> TrialPlan:
    """Plan a trial that would find the expected saving, or a quarter of the rate now."""
    now = best.now.rate
    saved = each.predicted.saved.expected
    step = min(max(saved, SMALLEST_TRIAL_STEP * now), LARGEST_TRIAL_STEP * now)
    largest = max(fitted.values(), key=lambda kind: float(kind.rows.setups.count.sum()))
    bought = OF_A_LOT & {factor_label(change.factor) for change in changes}
    sd = largest.fit.sd(LOT)
    return trial_for(
        tuple(
            (
                factor_label(change.factor),
                level_label(change.factor, change.before),
                level_label(change.factor, change.after),
            )
            for change in changes
        ),
        rate_now=now,
        smallest_difference=step,
        overdispersion=largest.fit.overdispersion,
        lot_sd=sd if bought and math.isfinite(sd) else 0.0,
    )


def _notes(
    job: Job, pooled: PooledKinds, fitted: Sequence[FittedKind], losses: Losses, shop: Shop
) -> tuple[str, ...]:
    notes = []
    if not set(job.given) >= set(SETUP):
        had = f"{number(job.usual_runs)} run{'' if job.usual_runs == 1 else 's'}"
        notes.append(
            f"What was not told of the setup is taken as is usual for {job.fabric}, part by part; "
            f"{had} had all of it."
        )
    if job.design is None and job.density_band is None:
        notes.append(
            "Neither design nor density was told: a design of middling difficulty is taken."
        )
    modelled = [each.kind.label.lower() for each in fitted if each.kind.name != OTHERS.name]
    if pooled.pooled:
        rest = ", ".join(kind.label.lower() for kind in pooled.pooled)
        notes.append(f"Looked at one by one: {', '.join(modelled)}. Together: {rest}.")
    if pooled.left_out:
        left = ", ".join(kind.label.lower() for kind in pooled.left_out)
        notes.append(f"Left out, as too few runs recorded them: {left}.")
    if not math.isfinite(losses.spoiled):
        notes.append(
            "Nobody wrote down what became of defective pieces: each is taken as reworked for "
            f"{shop.costs.rework_minutes_per_piece:g} minutes."
        )
    if shop.costs_assumed:
        notes.append(
            "Costs are usual ones of the trade, not this shop's: put its own into shop.toml."
        )
    notes.append(
        "Thread breaks and other stoppages are not in the saving; ask which factors go with them "
        "before changing needle or speed."
    )
    notes += [warning for each in fitted for warning in each.fit.warnings]
    return tuple(notes)
