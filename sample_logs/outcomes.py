"""Draws what became of each run from the hidden truth: defects, spoilage, rework and breaks."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from sample_logs.shop import MACHINES, OPERATORS, Design
from sample_logs.supplies import BAD_CUT_AWAY, BAD_TEAR_AWAY, LAST_WEEK, Lot
from sample_logs.truth import EVENT_LOG_RATES, PIECE_LOGITS, RAISED, SPREADS, Spread

__all__ = ["Effects", "draw_effects", "draw_outcomes"]

Floats = npt.NDArray[np.float64]
Counts = npt.NDArray[np.int64]

SPOILS: dict[str, float] = {
    "puckering": 0.08,
    "gaps": 0.12,
    "shadowing": 0.10,
    "sinking": 0.06,
    "coverage": 0.08,
    "looping": 0.04,
    "bobbin_showing": 0.03,
    "skipped_stitches": 0.05,
    "hoop_marks": 0.04,
    "needle_cuts": 0.75,
    "misplacement": 0.45,
    "trimming_damage": 0.80,
    "soiling": 0.12,
}
"""Chance that a piece with this defect is lost."""
REWORKED = 0.50
"""Chance that a defective piece that is not lost is worked over rather than let pass."""


@dataclass(frozen=True, slots=True)
class Effects:
    """Random effects of one kind by name of lot, design, machine and operator."""

    lot: dict[str, float]
    design: dict[str, float]
    machine: dict[str, float]
    operator: dict[str, float]


def draw_effects(
    rng: np.random.Generator, designs: Sequence[Design], lots: Sequence[Lot]
) -> dict[str, Effects]:
    """Return every kind's random effects.

    Lot effects are centred within a supplier and backing, so that the documented difference of two
    suppliers is the difference of their average lots. The planted bad lots have no other effect.
    """
    return {kind: _kind_effects(rng, designs, lots, SPREADS[kind]) for kind in SPREADS}


def _kind_effects(
    rng: np.random.Generator, designs: Sequence[Design], lots: Sequence[Lot], spread: Spread
) -> Effects:
    by_design = {
        design.name: spread.difficulty * design.difficulty + float(rng.normal(0, spread.design))
        for design in designs
    }
    return Effects(
        lot=_lot_effects(rng, lots, spread.lot),
        design=by_design,
        machine={m.name: float(rng.normal(0, spread.machine)) for m in MACHINES},
        operator={o.name: float(rng.normal(0, spread.operator)) for o in OPERATORS},
    )


def _lot_effects(rng: np.random.Generator, lots: Sequence[Lot], sd: float) -> dict[str, float]:
    planted = {BAD_TEAR_AWAY.name, BAD_CUT_AWAY.name}
    raw = {lot.name: 0.0 if lot.name in planted else float(rng.normal(0, sd)) for lot in lots}
    centred = dict.fromkeys(planted, 0.0)
    for family in sorted({(lot.supplier, lot.backing) for lot in lots}):
        names = [
            lot.name
            for lot in lots
            if (lot.supplier, lot.backing) == family and lot.name not in planted
        ]
        mean = sum(raw[name] for name in names) / len(names)
        centred |= {name: raw[name] - mean for name in names}
    return centred


def draw_outcomes(
    rng: np.random.Generator,
    runs: pl.DataFrame,
    effects: dict[str, Effects],
    *,
    raised: np.random.Generator,
) -> pl.DataFrame:
    """Return the runs with what was counted on each, as if every count had been written down.

    What `RAISED` puts on top is drawn from the stream `raised`, so that all else stays as it was.
    """
    pieces = runs["pieces_sewn"].to_numpy()
    inspected = _inspected(rng, pieces)
    shared = rng.normal(size=runs.height)
    columns: dict[str, Counts | Floats] = {"pieces_inspected": inspected}
    defective = np.zeros_like(inspected)
    spoiled = np.zeros_like(inspected)
    chances: dict[str, Floats] = {}
    for kind, logit in PIECE_LOGITS.items():
        noise = 0.4 * shared + np.sqrt(1 - 0.4**2) * rng.normal(size=runs.height)
        eta = _predictor(runs, logit, effects[kind]) + SPREADS[kind].run * noise
        chances[kind] = eta
        count = rng.binomial(inspected, _share(eta))
        columns[kind] = count
        if kind in SPOILS:
            both = rng.hypergeometric(defective, inspected - defective, count)
            defective = defective + count - both
            spoiled = spoiled + rng.binomial(count, SPOILS[kind])
    spoiled = np.minimum(spoiled, defective)
    reworked = rng.binomial(defective - spoiled, REWORKED)
    sums = _Sums(defective, spoiled, reworked)
    for kind, log_odds in RAISED.items():
        before, own = columns[kind].astype(np.int64), _share(chances[kind])
        higher = _share(chances[kind] + runs.select(log_odds).to_series().to_numpy())
        more = raised.binomial(inspected - before, (higher - own) / (1 - own))
        columns[kind] = before + more
        sums = sums.with_more(raised, inspected, more, kind)
    columns |= {
        "pieces_spoiled": sums.spoiled,
        "pieces_reworked": sums.reworked,
        "pieces_defective": sums.defective,
        "rework_minutes": np.round(sums.reworked * np.exp(rng.normal(2.3, 0.4, runs.height))),
    }
    columns |= _events(rng, runs, effects)
    columns["pucker_grade"] = _pucker_grade(rng, columns["puckering"] / inspected)
    return _last_week_break(runs.with_columns(pl.Series(k, v) for k, v in columns.items()))


@dataclass(frozen=True, slots=True)
class _Sums:
    """What a run's kinds come to together."""

    defective: Counts
    spoiled: Counts
    reworked: Counts

    def with_more(
        self, rng: np.random.Generator, inspected: Counts, more: Counts, kind: str
    ) -> "_Sums":
        """The same with so many more pieces of a kind, some of which had another one already."""
        both = rng.hypergeometric(self.defective, inspected - self.defective, more)
        defective = self.defective + more - both
        spoiled = np.minimum(self.spoiled + rng.binomial(more, SPOILS[kind]), defective)
        kept = np.minimum(self.reworked, defective - spoiled)
        left = np.maximum(defective - spoiled - (self.defective - self.spoiled), 0)
        return _Sums(defective, spoiled, kept + rng.binomial(left, REWORKED))


def _share(log_odds: Floats) -> Floats:
    return np.asarray(1 / (1 + np.exp(-log_odds)), dtype=np.float64)


def _inspected(rng: np.random.Generator, pieces: Counts) -> Counts:
    """Nearly always every piece is looked at; on one run in ten only some of a larger run."""
    some = (rng.random(pieces.size) < 0.10) & (pieces >= 12)
    share = rng.uniform(0.4, 0.9, pieces.size)
    return np.where(some, np.ceil(pieces * share), pieces).astype(np.int64)


def _predictor(runs: pl.DataFrame, fixed: pl.Expr, effects: Effects) -> Floats:
    named = {
        "backing_lot": effects.lot,
        "design": effects.design,
        "machine": effects.machine,
        "operator": effects.operator,
    }
    total = fixed
    for column, by_name in named.items():
        total = total + pl.col(column).replace_strict(by_name, default=0.0, return_dtype=pl.Float64)
    return runs.select(total.alias("eta")).to_series().to_numpy().astype(np.float64)


def _events(
    rng: np.random.Generator, runs: pl.DataFrame, effects: dict[str, Effects]
) -> dict[str, Counts]:
    stitches = runs["stitches_sewn"].to_numpy() / 100_000
    counts = {}
    for kind, log_rate in EVENT_LOG_RATES.items():
        noise = SPREADS[kind].run * rng.normal(size=runs.height)
        rate = np.exp(_predictor(runs, log_rate, effects[kind]) + noise)
        counts[kind] = rng.poisson(rate * stitches)
    return counts


def _pucker_grade(rng: np.random.Generator, share_puckered: Floats) -> Floats:
    """The in-house grade of the run's worst piece, 5 smooth to 1, in halves."""
    grade = 4.6 - 1.2 * (share_puckered > 0) - 5 * share_puckered
    return np.clip(np.round(2 * (grade + rng.normal(0, 0.35, share_puckered.size))) / 2, 1, 5)


def _last_week_break(runs: pl.DataFrame) -> pl.DataFrame:
    """Break one needle in the last week whose parts are not all found; elsewhere all are found.

    The run is the first children's job of that week, or its first run where there is none.
    """
    last_week = runs.filter(pl.col("finished_at").dt.date() >= LAST_WEEK)
    childrens = last_week.filter(pl.col("job").str.contains("Primary|Nursery"))
    held = next(iter([*childrens["run_ref"], *last_week["run_ref"]]), None)
    is_held = pl.col("run_ref").eq_missing(pl.lit(held, dtype=pl.String))
    return runs.with_columns(
        pl.when(is_held).then(1).otherwise(pl.col("needle_breaks")).alias("needle_breaks")
    ).with_columns(
        pl.when(is_held)
        .then(False)
        .when(pl.col("needle_breaks") > 0)
        .then(True)
        .alias("needle_parts_found")
    )
