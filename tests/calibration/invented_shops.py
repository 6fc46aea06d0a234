"""Invented shops whose truth is known: what raises each kind of defect, who buys what from whom.

The truth is additive on log odds only in part. Backing, weight and layers hold the fabric; what a
job needs beyond what they hold puckers, what they hold beyond the need shows (``deficit`` and
``excess`` below), so that they work together in ways no sum of effects follows exactly.

Operators take more backing for jobs they sense to be harder, and give hard jobs to the suppliers
they trust, so that crude rates point the wrong way. Lots are used up in the order of time.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

FABRICS = (
    *("denim", "canvas", "twill", "pique polo", "jersey T-shirt"),
    *("polar fleece", "terry towel", "satin", "softshell", "felt"),
)
BACKINGS = (
    *("cut_away", "tear_away", "wash_away_tear_away", "sheer_mesh"),
    *("fusible_sheer_mesh", "water_soluble", "adhesive"),
)
SUPPLIERS = ("Alder", "Birch", "Cedar", "Dogwood", "Elm", "Fir")
WEIGHTS_GSM = np.array([30.0, 55.0, 75.0, 95.0])
SCENARIOS = (
    *("base", "heavy", "drift", "hard", "nullsup"),
    *("miswritten", "worsening", "rare", "design", "unseen"),
)
"""``heavy``: runs, lots and designs differ much, runs with long tails. ``drift``: the whole shop
worsens while suppliers' shares shift. ``hard``: Fir sells one backing from one lot, Elm has one lot
of each, two levels are rare, and one hardly ever gives a defect. ``nullsup``: suppliers alike.
``miswritten``: lots blank or wrong (:mod:`miswritten_lots`). ``worsening``: one supplier gets much
worse in the last weeks. ``rare``: kinds of one piece in 2,000, suppliers far apart. ``design``:
good suppliers and firm backing go to difficult designs. ``unseen``: so they do to runs that are
difficult by something that nobody writes down."""
DIFFICULT_BY_DESIGN, DIFFICULT_UNSEEN = 0.8, 0.7
"""Log odds for one standard deviation of difficulty, where it sits in the design, or unseen."""

FABRIC_COUNT, BACKING_COUNT, SUPPLIER_COUNT = len(FABRICS), len(BACKINGS), len(SUPPLIERS)
DESIGNS, MACHINES, OPERATORS, NEEDLES = 200, 8, 6, 5

Floats = NDArray[np.float64]
Codes = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Loading:
    """How strongly each mechanism works on one kind; 0: not at all, so that findings are false."""

    usual: float
    """Share of pieces, about."""
    deficit: float = 0.0
    excess: float = 0.0
    odd_pairs: float = 0.0
    density: float = 0.0
    topping: float = 0.0
    needle: float = 0.0
    hooping: float = 0.0
    shade: float = 0.0
    supplier: float = 0.0
    lot: float = 0.0
    machine: float = 0.0
    operator: float = 0.0


# fmt: off
LOADINGS: dict[str, Loading] = {
    "puckering": Loading(.040, deficit=1.3, odd_pairs=.25, density=.10, hooping=.5, supplier=1.0,
                         lot=1.0),
    "gaps": Loading(.020, deficit=.8, odd_pairs=.15, density=.05, hooping=.6, supplier=.8, lot=.7,
                    machine=1.0, operator=1.0),
    "sinking": Loading(.015, density=-.10, topping=1.3),
    "needle_cuts": Loading(.004, density=.15, needle=1.0),
    "looping": Loading(.020, density=.05, needle=.5, lot=1.0, machine=1.0),
    "hoop_marks": Loading(.008, hooping=1.3, operator=.8),
    "shadowing": Loading(.012, excess=.6, odd_pairs=.20, shade=.8, supplier=1.0, lot=1.0),
}
# fmt: on
KINDS = tuple(LOADINGS)


def active(kind: str, factor: str) -> bool:
    """Whether a factor of the run sheet truly acts on a kind."""
    load = LOADINGS[kind]
    holds = bool(load.deficit or load.excess)
    return {
        "backing": holds or bool(load.odd_pairs or load.shade),
        "weight_band": holds,
        "backing_layers": holds,
        "backing_supplier": bool(load.supplier),
        "topping": bool(load.topping),
        "needle_nm": bool(load.needle),
        "hooping": bool(load.hooping),
        "machine": bool(load.machine),
        "operator": bool(load.operator),
    }[factor]


@dataclass(frozen=True, slots=True, eq=False)
class Shop:
    """The hidden truth of one shop; arrays by kind have the kinds first, in order of ``KINDS``.

    ``lot_first`` and ``lot_count`` (supplier, backing) say which lots are whose; no supply: 0 lots.
    Supplier ``worsens`` (-1: none) is worse by ``worse_by`` from time ``worse_from`` on.
    """

    scenario: str
    sd_run: float
    sd_lot: float
    stretch: Floats
    pile: Floats
    delicate: Floats
    needle_wanted: Floats
    hold: Floats
    visible: Floats
    banned: NDArray[np.bool_]
    stocked: NDArray[np.bool_]
    lot_first: Codes
    lot_count: Codes
    supplier: Floats
    supplier_backing: Floats
    lot: Floats
    machine: Floats
    operator: Floats
    design: Floats
    fabric: Floats
    fabric_backing: Floats
    difficulty: Floats
    density: Floats
    design_fabrics: Codes
    popularity: Floats
    backing_habit: Floats
    machine_habit: Floats
    trust: Floats
    share: Floats
    share_over_time: Floats
    usual: Floats
    worsens: int
    worse_from: float
    worse_by: float

    @property
    def drifts(self) -> bool:
        """Whether the whole shop worsens over the year."""
        return self.scenario == "drift"

    @property
    def long_tails(self) -> bool:
        """Whether a run's own luck has long tails."""
        return self.scenario == "heavy"


def make_shop(seed: int, scenario: str, *, lots: int = 60) -> Shop:
    """Draw a shop."""
    if scenario not in SCENARIOS:
        raise ValueError(f"There is no scenario {scenario!r}.")
    rng = np.random.default_rng([seed, SCENARIOS.index(scenario), 4711])
    heavy = scenario == "heavy"
    lot_first, lot_count = _supplies(rng, scenario, lots)
    lot_total = int(lot_count.sum())
    sd_lot, sd_design = (0.5, 0.7) if heavy else (0.3, 0.4)
    alike = 0.0 if scenario == "nullsup" else 1.0
    loads = {name: _column(name) for name in ("supplier", "lot", "machine", "operator")}
    odd = _column("odd_pairs")[:, None, None]
    apart = 0.6 if scenario == "rare" else 0.25
    supplier = alike * loads["supplier"][:, None] * _shared(rng, apart, (SUPPLIER_COUNT,))
    trust = -supplier[0] / apart + rng.normal(0, 0.5, SUPPLIER_COUNT)
    if not alike:
        trust = rng.normal(0, 1, SUPPLIER_COUNT)
    difficulty = rng.normal(0, 1, DESIGNS)
    own_design = rng.normal(0, 1, (len(KINDS), DESIGNS))
    return Shop(
        scenario=scenario,
        sd_run=1.0 if heavy else 0.5,
        sd_lot=sd_lot,
        stretch=np.clip(_about(rng, (1, 1, 2, 6, 9, 5, 3, 4, 1, 1), 0.1, 0.05), 0, 1),
        pile=np.clip(_about(rng, (0, 0, 0, 3, 1, 8, 10, 0, 1, 4), 0.1, 0.05), 0, 1),
        delicate=np.clip(_about(rng, (1, 1, 2, 3, 5, 4, 4, 10, 6, 3), 0.1, 0.05), 0, 1),
        needle_wanted=_about(rng, (32, 30, 22, 16, 10, 16, 20, 8, 16, 22), 0.1, 0.2),
        hold=_about(rng, (80, 50, 35, 60, 75, 30, 60), 0.01, 0.0)
        * np.exp(rng.normal(0, 0.08, BACKING_COUNT)),
        visible=_about(rng, (5, 3, 1, 1, 2, 0, 4), 0.1, 0.05),
        banned=_with_room(rng, rng.random((FABRIC_COUNT, BACKING_COUNT)) < 0.25, 4),
        stocked=~_with_room(rng, rng.random((BACKING_COUNT, 4)) < 0.25, 2),
        lot_first=lot_first,
        lot_count=lot_count,
        supplier=supplier,
        supplier_backing=alike
        * loads["supplier"][:, None, None]
        * _shared(rng, 0.18, (SUPPLIER_COUNT, BACKING_COUNT)),
        lot=loads["lot"][:, None] * sd_lot * _shared(rng, 1.0, (lot_total,)),
        machine=loads["machine"][:, None] * rng.normal(0, 0.3, (len(KINDS), MACHINES)),
        operator=loads["operator"][:, None] * rng.normal(0, 0.25, (len(KINDS), OPERATORS)),
        design=(
            DIFFICULT_BY_DESIGN * difficulty + 0.2 * own_design
            if scenario == "design"
            else sd_design * (0.6 * difficulty + 0.8 * own_design)
        ),
        fabric=rng.normal(0, 0.3, (len(KINDS), FABRIC_COUNT)),
        fabric_backing=odd * rng.normal(0, 1, (len(KINDS), FABRIC_COUNT, BACKING_COUNT)),
        difficulty=difficulty,
        density=np.round(1.5 + 6 * rng.beta(2, 2, DESIGNS), 2),
        design_fabrics=np.stack(
            [rng.choice(FABRIC_COUNT, 3, replace=False) for _ in range(DESIGNS)]
        ),
        popularity=_popularity(rng),
        backing_habit=rng.normal(0, 0.6, (OPERATORS, BACKING_COUNT)),
        machine_habit=rng.normal(0, 1, (OPERATORS, MACHINES)),
        trust=trust,
        share=rng.normal(0, 0.5, (SUPPLIER_COUNT, BACKING_COUNT)),
        share_over_time=rng.normal(0, 2.5 if scenario == "drift" else 0.5, SUPPLIER_COUNT),
        usual=_usual(rng, scenario),
        **_worsening(rng, scenario),
    )


def _usual(rng: np.random.Generator, scenario: str) -> Floats:
    usual = np.clip(_column("usual") * np.exp(rng.normal(0, 0.35, len(KINDS))), 0.002, 0.08)
    if scenario == "rare":
        usual[:2] = 0.0005
    return np.asarray(usual)


def _worsening(rng: np.random.Generator, scenario: str) -> dict[str, Any]:
    """Who worsens, over the last 6 to 10 weeks of the year, and by how much in log odds."""
    if scenario != "worsening":
        return {"worsens": -1, "worse_from": 1.0, "worse_by": 0.0}
    return {
        "worsens": int(rng.integers(SUPPLIER_COUNT)),
        "worse_from": 1.0 - float(rng.uniform(6, 10)) / 52,
        "worse_by": float(rng.uniform(0.7, 1.2)),
    }


def _column(name: str) -> Floats:
    return np.array([getattr(load, name) for load in LOADINGS.values()])


def _about(
    rng: np.random.Generator, middles: tuple[int, ...], unit: float, spread: float
) -> Floats:
    return unit * np.array(middles) + rng.normal(0, spread, len(middles))


def _shared(rng: np.random.Generator, sd: float, shape: tuple[int, ...]) -> Floats:
    """Effects that kinds have in part in common, each with standard deviation ``sd``."""
    common = rng.normal(0, sd, shape)
    own = rng.normal(0, sd, (len(KINDS), *shape))
    return 0.7 * common + np.sqrt(1 - 0.7**2) * own


def _with_room(rng: np.random.Generator, barred: NDArray[np.bool_], room: int) -> NDArray[np.bool_]:
    """Leave at least ``room`` of each row open."""
    for row in barred:
        if (~row).sum() < room:
            row[rng.choice(row.size, room, replace=False)] = False
    return barred


def _popularity(rng: np.random.Generator) -> Floats:
    share = rng.permutation(1.0 / np.arange(1, DESIGNS + 1) ** 0.7)
    return np.asarray(share / share.sum())


def _supplies(rng: np.random.Generator, scenario: str, lots: int) -> tuple[Codes, Codes]:
    """Who sells which backings, and from how many lots."""
    sells = np.zeros((SUPPLIER_COUNT, BACKING_COUNT), bool)
    for row in sells:
        row[rng.choice(BACKING_COUNT, rng.integers(3, 6), replace=False)] = True
    if scenario == "hard":
        sells[5] = np.arange(BACKING_COUNT) == rng.integers(BACKING_COUNT)
    for backing in range(BACKING_COUNT):
        while sells[:, backing].sum() < 2:
            sells[rng.integers(5), backing] = True
    pairs = np.argwhere(sells)
    extra = rng.integers(0, len(pairs), max(lots - len(pairs), 0))
    counts = 1 + np.bincount(extra, minlength=len(pairs))
    if scenario == "hard":
        counts[pairs[:, 0] >= 4] = 1
    first = np.zeros(sells.shape, np.int64)
    count = np.zeros(sells.shape, np.int64)
    first[sells] = np.concatenate([[0], np.cumsum(counts)[:-1]])
    count[sells] = counts
    return first, count
