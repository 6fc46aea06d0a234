"""Judges a trial from its runs: pair by pair, look by look, every kind of defect."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import polars as pl

from logbook.kernels.setup_model.levels import Verdict
from logbook.kernels.trials import FEWEST_PAIRS, Judgement, judge, watch
from logbook.questions.trials.result import (
    Decision,
    Interval,
    KindJudged,
    LookSeen,
    TrialJudged,
)
from logbook.runs.trial_pairs import Load, SewnPair, next_load, sewn_trial
from logbook.runs.trials import ARMS, Arm, KeptTrial, Trial
from logbook.shop import Shop
from logbook.vocabulary.defects import ANY, DefectKind

NOTHING: Interval = (math.nan, math.nan)
MOST_MORE = 500
"""More pairs than this are no advice."""
Counted = Mapping[tuple[str, str], tuple[float, float]]
"""(kind, run) → count and what it was counted in."""


def analyse(
    runs: Sequence[Mapping[str, Any]], cells: pl.DataFrame, *, kept: KeptTrial, shop: Shop
) -> TrialJudged:
    """Judge a trial as it stands.

    Parameters
    ----------
    runs
        The runs that carry it, as mappings of the run sheet's columns.
    cells
        Cells of all kinds and of ``any`` of those runs, grouped by ``run_ref``.
    kept
        The trial.
    shop
        Kinds and currency.

    Notes
    -----
    Each look is held against the bounds of :func:`logbook.kernels.trials.watch`, set by the pairs
    planned; the intervals of all looks hold together at ``1 - alpha`` (Jennison & Turnbull 1989).
    Between looks the last one stands. Pairs in which something else was changed are left out;
    a load counts in the arm that its setup shows.
    """
    trial = kept.trial
    sewn = sewn_trial(trial, runs)
    counted = _counted(cells)
    kind = ANY if trial.defect == ANY.name else next(
        each for each in shop.kinds if each.name == trial.defect
    )  # fmt: skip
    pairs = sewn.counted[: trial.pairs]
    watched = _Watched(trial, pairs, counted, kind)
    looks = watched.looks()
    seen = pairs[: looks[-1].pairs] if looks else pairs
    last = watched.judged(len(seen))
    complete = len(pairs) >= trial.pairs
    verdict: Verdict = last.verdict if looks else "not_enough_data"
    decision, because = _decision(trial, last, verdict, complete=complete, looked=bool(looks))
    cost, extra = trial.cost_per_defective, trial.extra_material or 0.0
    return TrialJudged(
        kept=kept,
        sewn=sewn,
        defect_label=kind.label,
        looks=looks,
        difference=last.difference,
        interval=(last.lower, last.upper),
        level=last.level if looks else math.nan,
        p_value=last.p_value,
        sign_flip_p_value=last.sign_flip_p_value,
        rate_now=last.rate_now,
        rate_changed=last.rate_changed,
        runs=sum(len(each.now.runs) + len(each.changed.runs) for each in seen),
        pieces=last.pieces,
        verdict=verdict,
        decision=decision,
        because=because,
        may_end=decision != "cannot_tell" or complete,
        money=_money(-last.difference, cost, extra),
        money_interval=(_money(-last.upper, cost, extra), _money(-last.lower, cost, extra)),
        pairs_more=_pairs_more(trial, last, len(seen)) if complete else None,
        kinds=_every_kind(trial, seen, counted, shop, 1 - last.level),
        next_look=next((each for each in trial.looks if each > len(pairs)), None),
        next_loads=_next_loads(trial, sewn, runs) if trial.state == "running" else {},
        lots={arm: _lots(seen, arm) for arm in ARMS},
    )


@dataclass(frozen=True, slots=True)
class _Watched:
    """The pairs of the deciding kind, looked at as planned."""

    trial: Trial
    pairs: Sequence[SewnPair]
    counted: Counted
    kind: DefectKind

    def looks(self) -> tuple[LookSeen, ...]:
        """Every look that was reached, up to the first that ended the trial."""
        found = []
        for at in self.trial.looks:
            if at > len(self.pairs):
                break
            there = self.judged(at)
            found.append(LookSeen(at, there.difference, (there.lower, there.upper), there.level))
            if there.verdict in ("better", "worse"):
                break
        return tuple(found)

    def judged(self, pairs: int) -> Judgement:
        """The first so many pairs at the level of their look."""
        seen = self.pairs[:pairs]
        arms = _arms(seen, self.counted, self.kind)
        lots: dict[str, Any] = {
            "lot_sd": self.trial.lot_sd,
            "lots_each": (_lots(seen, "as now"), _lots(seen, "changed")),
        }
        whole = [each for each in seen if _exposed(each, self.counted, self.kind)]
        if pairs not in self.trial.looks or len(whole) < FEWEST_PAIRS:
            return judge(**arms, **lots, alpha=self.trial.alpha)
        place = self.trial.looks.index(pairs)
        return watch(
            **arms,
            **lots,
            planned_pairs=self.trial.pairs,
            earlier_looks=[each for each in self.trial.looks[:place] if each < len(whole)],
            later_looks=self.trial.looks[place + 1 :],
            alpha=self.trial.alpha,
        ).judgement


def _decision(
    trial: Trial, last: Judgement, verdict: Verdict, *, complete: bool, looked: bool
) -> tuple[Decision, str]:
    if verdict == "worse":
        return "leave", "worse"
    if verdict == "better":
        cost = trial.cost_per_defective
        if trial.extra_material and _money(-last.difference, cost, trial.extra_material) < 0:
            return "leave", "dearer"
        return "take", "better"
    if looked and last.lower > -trial.smallest_difference:
        return "leave", "too_small"
    return "cannot_tell", "complete" if complete else "running"


def _pairs_more(trial: Trial, last: Judgement, pairs: int) -> int | None:
    """Pairs that would settle it, were the true difference what was found so far."""
    reach = last.upper - last.difference
    gap = max(abs(last.difference), trial.smallest_difference - abs(last.difference))
    if not (math.isfinite(reach) and gap > 0):
        return None
    more = math.ceil(pairs * ((reach * 1.4 / gap) ** 2 - 1))
    return more if 0 < more <= MOST_MORE else None


def _every_kind(
    trial: Trial, pairs: Sequence[SewnPair], counted: Counted, shop: Shop, alpha: float
) -> tuple[KindJudged, ...]:
    kinds = (ANY, *shop.kinds)
    return tuple(
        each
        for kind in kinds
        if (each := _one_kind(trial, pairs, counted, kind, alpha, len(kinds))) is not None
    )


def _one_kind(
    trial: Trial, pairs: Sequence[SewnPair], counted: Counted, kind: DefectKind, alpha: float,
    kinds: int,
) -> KindJudged | None:  # fmt: skip
    arms = _arms(pairs, counted, kind)
    if not any(arms["count_now"]) and not any(arms["count_changed"]):
        return None
    found = judge(**arms, measure=kind.measure, alpha=min(max(alpha, 1e-12), 0.5), draws=1)
    return KindJudged(
        kind=kind.name,
        label=kind.label,
        measure=kind.measure,
        rate_now=found.rate_now,
        rate_changed=found.rate_changed,
        difference=found.difference,
        interval=(found.lower, found.upper),
        p_value=found.p_value,
        worse=kind.name != trial.defect and found.difference > 0 and found.p_value * kinds <= alpha,
    )


def _arms(pairs: Sequence[SewnPair], counted: Counted, kind: DefectKind) -> dict[str, Any]:
    now = [_summed(each.now, counted, kind) for each in pairs]
    changed = [_summed(each.changed, counted, kind) for each in pairs]
    return {
        "count_now": [count for count, _ in now],
        "pieces_now": [exposure for _, exposure in now],
        "count_changed": [count for count, _ in changed],
        "pieces_changed": [exposure for _, exposure in changed],
    }


def _summed(load: Load, counted: Counted, kind: DefectKind) -> tuple[float, float]:
    """A load's count; nothing where one of its runs did not record the kind."""
    found = [counted.get((kind.name, ref), (0.0, 0.0)) for ref in load.refs]
    if any(exposure <= 0 for _, exposure in found):
        return 0.0, 0.0
    return sum(count for count, _ in found), sum(exposure for _, exposure in found)


def _exposed(pair: SewnPair, counted: Counted, kind: DefectKind) -> bool:
    return all(_summed(load, counted, kind)[1] > 0 for load in (pair.now, pair.changed))


def _counted(cells: pl.DataFrame) -> dict[tuple[str, str], tuple[float, float]]:
    return {
        (row["kind"], str(row["run_ref"])): (float(row["count"]), float(row["exposure"]))
        for row in cells.iter_rows(named=True)
    }


def _lots(pairs: Sequence[SewnPair], arm: Arm) -> int:
    loads = (each.now if arm == "as now" else each.changed for each in pairs)
    lots = {run.get("backing_lot") for load in loads for run in load.runs} - {None}
    return max(1, len(lots))


def _next_loads(trial: Trial, sewn: Any, runs: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    machines = dict.fromkeys(str(run.get("machine") or "") for run in runs) or {"": None}
    found = {name: next_load(trial, sewn, name) for name in machines}
    return {name: load for name, load in found.items() if load is not None}


def _money(saved: float, cost: float | None, extra: float) -> float:
    return math.nan if cost is None else 100 * (saved * cost - extra)
