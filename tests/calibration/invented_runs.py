"""Runs of an invented shop, the cells a book counts of them, and the true rates behind them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

import numpy as np
import polars as pl
from invented_shops import (
    BACKING_COUNT,
    BACKINGS,
    DIFFICULT_UNSEEN,
    FABRICS,
    KINDS,
    LOADINGS,
    SUPPLIERS,
    WEIGHTS_GSM,
    Codes,
    Floats,
    Shop,
)
from scipy.optimize import brentq
from scipy.special import expit, ndtri
from scipy.stats import chi2, qmc

from logbook.adjusted_comparison.terms import MAIN_EFFECTS
from logbook.vocabulary.backings import WEIGHT_BANDS
from logbook.vocabulary.bands import DENSITY_BANDS, Band, band_of

Setup = dict[str, Codes]
TOPPINGS = ("none", "water_soluble_film", "heat_away_film")
HOOPINGS = ("hooped", "floated", "adhesive")
SHADES = ("light", "mid", "dark")
NEEDLES_NM = ("65", "70", "75", "80", "90")
USUAL_DENSITY = 4.5
_PACKAGES = np.stack(np.unravel_index(np.arange(BACKING_COUNT * 12), (BACKING_COUNT, 4, 3)))
_TOPPED = np.array([1.0, 0.35, 0.15])
_MARKED = np.array([1.0, 0.45, 0.2])
_SHIFTED = np.array([0.0, 0.3, 0.6])


def _band(value: float, bands: tuple[Band, ...]) -> str:
    found = band_of(value, bands)
    assert found is not None
    return found.name


SIMULATED_AS: dict[str, tuple[str, tuple[str, ...]]] = {
    "fabric": ("fabric", FABRICS),
    "fabric_shade": ("shade", SHADES),
    "backing": ("backing", BACKINGS),
    "weight_band": ("weight", tuple(_band(gsm, WEIGHT_BANDS) for gsm in WEIGHTS_GSM)),
    "backing_layers": ("layers", ("1", "2", "3")),
    "backing_supplier": ("supplier", SUPPLIERS),
    "topping": ("topping", TOPPINGS),
    "needle_nm": ("needle", NEEDLES_NM),
    "hooping": ("hooping", HOOPINGS),
    "machine": ("machine", tuple(f"M{code}" for code in range(8))),
    "operator": ("operator", tuple(f"O{code}" for code in range(6))),
}
"""Column of the run sheet → name among the codes, and the word of each code."""


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """What was sewn: codes and ``time`` (0 to 1) of each run, pieces, and defects by kind."""

    setup: Setup
    time: Floats
    pieces: Codes
    counts: dict[str, Codes]


def draw_runs(shop: Shop, runs: int, seed: int) -> Runs:
    """Draw a year's runs."""
    rng = np.random.default_rng([seed, 815])
    setup, time = _setups(shop, runs, rng)
    pieces = np.round(np.exp(rng.uniform(np.log(12), np.log(288), runs))).astype(np.int64)
    shared = rng.normal(0, 1, runs)
    counts: dict[str, Codes] = {}
    defective = np.zeros(runs, np.int64)
    for kind in KINDS:
        luck = 0.5 * shared + np.sqrt(0.75) * rng.normal(0, 1, runs)
        if shop.long_tails:
            luck = luck * np.sqrt(np.minimum(4 / rng.chisquare(6, runs), 9))
        rate = expit(effects(shop, setup, kind, time=time, own_lot=True) + shop.sd_run * luck)
        counts[kind] = rng.binomial(pieces, rate)
        both = rng.hypergeometric(defective, pieces - defective, counts[kind])
        defective = defective + counts[kind] - both
    return Runs(setup, time, pieces, {**counts, "any": defective})


def true_rate(shop: Shop, setup: Setup, kind: str, time: Floats) -> Floats:
    """Rate of each row with a new lot of its supplier, over all that luck may do."""
    if kind != "any":
        points, weights = _luck(shop, LOADINGS[kind].lot)
        eta = effects(shop, setup, kind, time=time, own_lot=False)
        return np.asarray(sum(w * expit(eta + x) for x, w in zip(points, weights, strict=True)))
    etas = [effects(shop, setup, each, time=time, own_lot=False) for each in KINDS]
    luck = _joint_luck(shop)
    clean = np.zeros(time.size)
    for draw in luck:
        spared = np.ones(time.size)
        for eta, own in zip(etas, draw, strict=True):
            spared *= expit(-eta - own)
        clean += spared
    return np.asarray(1 - clean / len(luck))


def mean_rate(shop: Shop, eta: Floats) -> Floats:
    """Rate of each row over all that a run's own luck may do."""
    points, weights = _luck(shop, 0.0)
    return np.asarray(sum(w * expit(eta + x) for x, w in zip(points, weights, strict=True)))


def effects(
    shop: Shop, setup: Setup, kind: str, *, time: Floats, own_lot: bool, level: bool = True
) -> Floats:
    """Sum of effects of each row, in log odds, without the run's own luck."""
    index, load = KINDS.index(kind), LOADINGS[kind]
    fabric, backing, supplier = setup["fabric"], setup["backing"], setup["supplier"]
    dense = shop.density[setup["design"]] - USUAL_DENSITY
    lacking = _need(shop, fabric, dense) - _support(shop, backing, setup["weight"], setup["layers"])
    total = shop.fabric[index, fabric] + shop.fabric_backing[index, fabric, backing]
    total = total + load.density * dense + load.deficit * 1.6 * _over(lacking)
    total = total + load.excess * 1.2 * _over(-lacking)
    total = total + load.topping * 1.6 * shop.pile[fabric] * _TOPPED[setup["topping"]]
    total = total + load.needle * 0.45 * np.abs(setup["needle"] - shop.needle_wanted[fabric])
    if shop.scenario == "hard" and load.needle:
        total = total - 4.0 * (setup["needle"] == 4)
    if kind == "gaps":
        total = total + load.hooping * _SHIFTED[setup["hooping"]]
    else:
        total = total + load.hooping * shop.delicate[fabric] * _MARKED[setup["hooping"]]
    total = total + load.shade * 0.4 * (2 - setup["shade"]) * (1 + shop.visible[backing])
    total = total + shop.supplier[index, supplier] + shop.supplier_backing[index, supplier, backing]
    lately = (supplier == shop.worsens) & (time >= shop.worse_from)
    total = total + load.supplier * shop.worse_by * lately
    total = total + DIFFICULT_UNSEEN * setup["unseen_hundredths"] / 100
    total = total + shop.machine[index, setup["machine"]] + shop.operator[index, setup["operator"]]
    total = total + shop.design[index, setup["design"]]
    if shop.drifts:
        total = total + time - 0.5 + 0.3 * np.sin(4 * np.pi * time)
    if own_lot:
        total = total + shop.lot[index, setup["lot"]]
    return np.asarray(total + (_level(shop, kind) if level else 0.0))


def cells_of(runs: Runs, kinds: tuple[str, ...]) -> pl.DataFrame:
    """The cells that a book would count, one a run and kind."""
    setup = runs.setup
    wide = pl.DataFrame(
        {
            "run_ref": [f"R-{number:06d}" for number in range(runs.pieces.size)],
            "month": [f"2026-{1 + int(12 * at):02d}" for at in np.minimum(runs.time, 0.9999)],
            "day": [str(date(2026, 1, 1) + timedelta(days=int(365 * at))) for at in runs.time],
            "design": [f"Design {code}" for code in setup["design"]],
            "backing_lot": [f"L{code}" for code in setup["lot"]],
            **{
                column: [words[code] for code in setup[name]]
                for column, (name, words) in SIMULATED_AS.items()
            },
            "density_band": density_bands(setup),
            "runs": np.ones(runs.pieces.size, np.int64),
            "exposure": runs.pieces.astype(float),
            **{kind: runs.counts[kind] for kind in kinds},
        }
    )
    unwritten = [name for name in MAIN_EFFECTS if name not in wide.columns]
    wide = wide.with_columns(pl.lit(None, pl.String).alias(name) for name in unwritten)
    return pl.concat(
        wide.drop(kinds).with_columns(pl.lit(kind).alias("kind"), wide[kind].alias("count"))
        for kind in kinds
    )


def density_bands(setup: Setup) -> list[str]:
    """Band of each row's stitch density; the codes carry the measured one."""
    return [_band(float(value) / 100, DENSITY_BANDS) for value in setup["density_hundredths"]]


def _need(shop: Shop, fabric: Codes, dense: Floats) -> Floats:
    return 0.55 + 0.7 * shop.stretch[fabric] + 0.16 * dense


def _support(shop: Shop, backing: Codes, weight: Codes, layers: Codes) -> Floats:
    return shop.hold[backing] * (0.5 + WEIGHTS_GSM[weight] / 75) * (1 + 0.45 * layers)


def _over(lacking: Floats) -> Floats:
    """What lies above zero, rounded off."""
    return np.logaddexp(0, 4 * lacking) / 4


@lru_cache(maxsize=16)
def _luck(shop: Shop, lot_load: float) -> tuple[Floats, Floats]:
    """Points and weights that average over a run's own luck and a new lot's."""
    points, weights = np.polynomial.hermite_e.hermegauss(11)
    weights = weights / weights.sum()
    scales = np.ones(1)
    if shop.long_tails:
        scales = np.minimum(4 / chi2.ppf((np.arange(40) + 0.5) / 40, 6), 9)
    spread = np.sqrt(shop.sd_run**2 * scales + (lot_load * shop.sd_lot) ** 2)
    return np.outer(spread, points).ravel(), np.tile(weights / scales.size, scales.size)


@lru_cache(maxsize=4)
def _joint_luck(shop: Shop) -> Floats:
    """Draws of all kinds' luck together, (draws, kinds)."""
    count = len(KINDS)
    uniform = qmc.Sobol(3 * count + 2, seed=3).random(256)
    normal = ndtri(np.clip(uniform, 1e-6, 1 - 1e-6))
    run = 0.5 * normal[:, [0]] + np.sqrt(0.75) * normal[:, 2 : 2 + count]
    if shop.long_tails:
        run = run * np.sqrt(np.minimum(4 / chi2.ppf(uniform[:, 2 + 2 * count :], 6), 9))
    lot = 0.7 * normal[:, [1]] + np.sqrt(1 - 0.7**2) * normal[:, 2 + count : 2 + 2 * count]
    loads = np.array([load.lot for load in LOADINGS.values()])
    return np.asarray(shop.sd_run * run + shop.sd_lot * loads * lot)


@lru_cache(maxsize=64)
def _level(shop: Shop, kind: str) -> float:
    """Intercept that gives the kind its usual rate over the shop's own mix."""
    setup, time = _setups(shop, 2000, np.random.default_rng(2024))
    eta = effects(shop, setup, kind, time=time, own_lot=True, level=False)
    points, weights = _luck(shop, 0.0)
    spread = eta[:, None] + points
    wanted = shop.usual[KINDS.index(kind)]

    def excess(level: float) -> float:
        return float((expit(spread + level) @ weights).mean() - wanted)

    return float(brentq(excess, -15, 5, xtol=1e-3))


def _choose(rng: np.random.Generator, liking: Floats) -> Codes:
    """One choice a row, likelier the better it is liked (multinomial logit)."""
    return np.argmax(liking + rng.gumbel(size=liking.shape), axis=-1)


def _setups(shop: Shop, runs: int, rng: np.random.Generator) -> tuple[Setup, Floats]:
    """Jobs in time order, and how operators set them up."""
    time = np.sort(rng.random(runs))
    design = rng.choice(shop.popularity.size, runs, p=shop.popularity)
    slot = rng.choice(3, runs, p=[0.6, 0.3, 0.1])
    fabric = shop.design_fabrics[design, slot]
    operator = rng.choice(6, runs, p=[0.25, 0.22, 0.18, 0.15, 0.12, 0.08])
    setup: Setup = {
        "design": design,
        "fabric": fabric,
        "shade": rng.choice(3, runs, p=[0.35, 0.3, 0.35]),
        "operator": operator,
        "machine": _choose(rng, shop.machine_habit[operator]),
    }
    # Most runs of a design on a fabric go by its recipe, which its first operator set.
    recipes = np.random.default_rng(99)
    of_design = np.repeat(np.arange(shop.popularity.size), 3)
    recipe = _choices(
        shop,
        recipes,
        of_design,
        shop.design_fabrics.ravel(),
        recipes.integers(0, 6, of_design.size),
    )
    fresh = _choices(shop, rng, design, fabric, operator)
    by_recipe = rng.random(runs) < 0.7
    for name, own in fresh.items():
        kept = by_recipe if name in ("backing", "weight", "layers") else rng.random(runs) < 0.75
        setup[name] = np.where(kept, recipe[name][3 * design + slot], own)
    unseen = rng.normal(0, 100, runs) if shop.scenario == "unseen" else np.zeros(runs)
    setup["unseen_hundredths"] = unseen.astype(np.int64)
    setup |= _supplied(shop, rng, setup, time)
    setup["density_hundredths"] = np.round(100 * shop.density[design]).astype(np.int64)
    return setup, time


def _choices(
    shop: Shop, rng: np.random.Generator, design: Codes, fabric: Codes, operator: Codes
) -> Setup:
    """What operators would take for a job, sensing its difficulty."""
    backing, weight, layers = _PACKAGES
    dense = shop.density[design] - USUAL_DENSITY
    felt = 0.4 if shop.scenario == "design" else 0.12
    sensed = _need(shop, fabric, dense) + felt * shop.difficulty[design]
    lacking = sensed[:, None] - _support(shop, backing, weight, layers)
    liking = -3.0 * _over(lacking) - 1.3 * _over(-lacking) - 0.8 * layers
    liking = liking + shop.backing_habit[operator][:, backing]
    barred = shop.banned[fabric][:, backing] | ~shop.stocked[backing, weight]
    package = _choose(rng, np.where(barred, -1e9, 2.0 * liking))
    hard = shop.scenario == "hard"
    needle = -1.2 * np.abs(np.arange(5) - shop.needle_wanted[fabric][:, None])
    pile, delicate = shop.pile[fabric], shop.delicate[fabric]
    topping = np.stack([0 * pile, 3 * pile - 1.2, 3 * pile - 1.9], axis=1)
    sticky = 0.8 * (backing[package] == BACKINGS.index("adhesive"))
    hooping = np.stack([0 * pile, 1.5 * delicate - 0.6, 2.0 * delicate - 1.2 + sticky], axis=1)
    return {
        "backing": backing[package],
        "weight": weight[package],
        "layers": layers[package],
        "needle": _choose(rng, needle - 3.0 * hard * (np.arange(5) == 4)),
        "topping": _choose(rng, topping - 2.5 * hard * (np.arange(3) == 2)),
        "hooping": _choose(rng, hooping),
    }


def _supplied(shop: Shop, rng: np.random.Generator, setup: Setup, time: Floats) -> Setup:
    """Whose backing is taken, from which lot: trusted suppliers get the hard jobs."""
    backing, design = setup["backing"], setup["design"]
    known = 2.0 if shop.scenario == "design" else 0.5
    hardness = (shop.density[design] - USUAL_DENSITY) / 1.3 + known * shop.difficulty[design]
    hardness = hardness + 2.5 * setup["unseen_hundredths"] / 100
    hardness = hardness + 1.5 * (shop.stretch[setup["fabric"]] - 0.4)
    liking = shop.share[:, backing].T + 0.64 * hardness[:, None] * shop.trust
    liking = liking + shop.share_over_time * (time[:, None] - 0.5)
    supplier = _choose(rng, np.where(shop.lot_count[:, backing].T > 0, liking, -1e9))
    lots = shop.lot_count[supplier, backing]
    used_up = np.floor(time * lots + rng.normal(0, 0.15, time.size))
    lot = shop.lot_first[supplier, backing] + np.clip(used_up, 0, lots - 1).astype(np.int64)
    return {"supplier": supplier, "lot": lot}
