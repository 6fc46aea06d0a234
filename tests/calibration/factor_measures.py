"""How often what is said of setup factors is true, in shops whose truth is known."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from invented_runs import SIMULATED_AS, Runs, cells_of, draw_runs, true_rate
from invented_shops import Shop, active, make_shop
from supplier_measures import kind_named

from logbook.adjusted_comparison import AdjustedEffect, adjusted_factors
from logbook.adjusted_comparison.rows import CodedRows, coded_rows, strata_for
from logbook.kernels.setup_model import NO_LEVEL
from logbook.kernels.setup_model.effects import others_of, overlap

FACTORS = tuple(name for name in SIMULATED_AS if name not in ("fabric", "fabric_shade"))
WORTH_FINDING = math.log(1.25)


@dataclass(frozen=True, slots=True)
class Effect:
    """One level of one factor in one shop: what was said, and the truth (log of the ratio)."""

    kind: str
    factor: str
    world: int
    acts: bool
    truth: float
    estimate: float
    covered: bool
    p_value: float
    finding: bool

    @property
    def false(self) -> bool:
        """Found where there is nothing, or with the wrong sign."""
        return self.finding and (not self.acts or self.truth * self.estimate < 0)


def effects_in_worlds(
    scenario: str, *, worlds: range, runs: int, kinds: tuple[str, ...]
) -> list[Effect]:
    """Ask about every factor of the invented truth in each shop."""
    found = []
    for world in worlds:
        shop = make_shop(world, scenario)
        drawn = draw_runs(shop, runs, world)
        cells = cells_of(drawn, kinds)
        for name in kinds:
            rows = coded_rows(cells, kind=kind_named(name))
            found += [
                _effect(shop, drawn, rows, name, said, world)
                for said in adjusted_factors(cells, kind=kind_named(name)).effects
                if said.factor in FACTORS and math.isfinite(said.ratio)
            ]
    return found


def _effect(
    shop: Shop, drawn: Runs, rows: CodedRows, name: str, said: AdjustedEffect, world: int
) -> Effect:
    acts = active(name, said.factor)
    truth = _true_log_ratio(shop, drawn, rows, name, said) if acts else 0.0
    # A finding's interval is given at 99 %; coverage is that of the interval shown.
    lower, upper = said.ratio_interval
    return Effect(
        kind=name,
        factor=said.factor,
        world=world,
        acts=acts,
        truth=truth,
        estimate=math.log(said.ratio),
        covered=math.log(lower) <= truth <= math.log(upper),
        p_value=said.p_value,
        finding=said.finding,
    )


def _true_log_ratio(
    shop: Shop, drawn: Runs, rows: CodedRows, name: str, said: AdjustedEffect
) -> float:
    simulated, words = SIMULATED_AS[said.factor]
    codes = drawn.setup[simulated]
    level = words.index(said.level)
    strata = strata_for(rows, said.factor)
    apart = [words.index(word) for word in said.apart]
    strata = np.where(np.isin(codes, apart), NO_LEVEL, strata)
    shared = overlap(strata=strata, codes=codes, runs=rows.setups.runs, level=level)
    own, weights = codes[shared], rows.setups.trials[shared]
    others = others_of(strata=strata[shared], codes=own, weights=weights, level=level)
    setup = {factor: each[shared] for factor, each in drawn.setup.items()}
    rates = [
        np.average(
            true_rate(shop, {**setup, simulated: each}, name, drawn.time[shared]), weights=weights
        )
        for each in (np.full_like(own, level), others)
    ]
    return float(np.log(rates[0] / rates[1]))


@dataclass(frozen=True, slots=True)
class FactorSummary:
    """Shares in percent."""

    effects: int
    false_findings: float
    power: float
    null_below_5_percent: float
    coverage: float
    coverage_of_active: float


def factor_summary(found: list[Effect]) -> FactorSummary:
    """Sum up; ``false_findings`` averages over shops and kinds, those without findings at 0."""
    families: dict[tuple[int, str], list[bool]] = {}
    for each in found:
        family = families.setdefault((each.world, each.kind), [])
        if each.finding:
            family.append(each.false)
    shares = [float(np.mean(family)) if family else 0.0 for family in families.values()]
    large = [each for each in found if each.acts and abs(each.truth) >= WORTH_FINDING]
    return FactorSummary(
        effects=len(found),
        false_findings=100 * float(np.mean(shares)),
        power=100 * float(np.mean([each.finding and not each.false for each in large])),
        null_below_5_percent=100
        * float(np.mean([each.p_value < 0.05 for each in found if not each.acts])),
        coverage=100 * float(np.mean([each.covered for each in found])),
        coverage_of_active=100 * float(np.mean([each.covered for each in found if each.acts])),
    )
