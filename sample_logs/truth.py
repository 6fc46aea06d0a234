"""The hidden truth: what raises and lowers each kind of defect, on the log-odds or log-rate scale.

Piece kinds are binomial with the log odds in `PIECE_LOGITS`, event kinds are counts per stitch with
the log rate per 100,000 stitches in `EVENT_LOG_RATES`. To both come random effects of lot, design,
machine, operator and run, whose standard deviations are in `SPREADS`.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

from sample_logs.needles import OVERDUE_STITCHES
from sample_logs.shop import SHIFTS
from sample_logs.supplies import BAD_CUT_AWAY, BAD_TEAR_AWAY, LAST_WEEK

__all__ = [
    "BAD_HOOP_LOG_ODDS",
    "BAD_HOOP_MACHINE",
    "CARELESS_LOG_ODDS",
    "CARELESS_SHIFT",
    "DRIFT_FROM",
    "DRIFT_MACHINE",
    "DRIFT_PER_WEEK",
    "EVENT_LOG_RATES",
    "NO_SPREAD",
    "OLD_NEEDLE_LOG_ODDS",
    "PIECE_LOGITS",
    "RAISED",
    "SHADE_LOG_ODDS",
    "SPREADS",
    "SUPPLIER_PUCKERING",
    "TOPPING_LOG_ODDS",
    "Spread",
]

SUPPLIER_PUCKERING: dict[str, float] = {"Alder": 0.0, "Birch": -0.25, "Cedar": 0.59, "Dogwood": 0.0}
"""Log odds of puckering on sheer mesh against Alder; on every other backing all are equal."""
SHADE_LOG_ODDS: dict[str, float] = {"beige": 0.0, "white": 1.4, "black": 3.2}
"""Log odds of shadowing against beige, where the backing stays under a light, sheer garment."""
TOPPING_LOG_ODDS = -1.7
"""What film on pile adds to the log odds of sinking."""
DRIFT_MACHINE = "M3 four-head"
DRIFT_FROM = dt.date(2026, 8, 10)
"""Monday of 2026-W33, when the thread breaks of `DRIFT_MACHINE` begin to rise."""
DRIFT_PER_WEEK = 0.075
BAD_HOOP_MACHINE = "M2 six-head"
BAD_HOOP_LOG_ODDS = 1.6
"""What the worn hoop adds to the log odds of gaps, on hooped runs of its machine in 2026-W46."""
OLD_NEEDLE_LOG_ODDS = 1.4
"""What a needle that is overdue adds to the log odds of skipped stitches."""
CARELESS_SHIFT = SHIFTS[1]
CARELESS_LOG_ODDS = 0.8
"""What the careless shift adds to the log odds of misplacement, all year."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Standard deviations of a kind's random effects (log odds, or log rate for events)."""

    lot: float = 0.0
    difficulty: float = 0.0
    """Slope on the design's hidden difficulty, which is what makes operators take more backing."""
    design: float = 0.0
    machine: float = 0.0
    operator: float = 0.0
    run: float = 0.5


NO_SPREAD = Spread(run=0.0)

SPREADS: dict[str, Spread] = {
    "puckering": Spread(lot=0.30, difficulty=0.35, design=0.20, operator=0.12),
    "gaps": Spread(lot=0.30, difficulty=0.30, design=0.20, machine=0.10, operator=0.10),
    "shadowing": Spread(lot=0.30, design=0.15),
    "sinking": Spread(design=0.30),
    "coverage": Spread(difficulty=0.15, design=0.35),
    "looping": Spread(machine=0.25, operator=0.15),
    "bobbin_showing": Spread(machine=0.25, operator=0.15),
    "skipped_stitches": Spread(machine=0.25, design=0.20),
    "hoop_marks": Spread(operator=0.25),
    "needle_cuts": Spread(difficulty=0.20, design=0.20),
    "misplacement": Spread(operator=0.40),
    "trimming_damage": Spread(operator=0.30),
    "soiling": Spread(machine=0.30, run=0.7),
    "fabric_faults": Spread(run=0.9),
    "thread_breaks": Spread(difficulty=0.15, design=0.15, machine=0.12, operator=0.08, run=0.35),
    "needle_breaks": Spread(run=0.3),
    "bird_nests": Spread(machine=0.20, operator=0.15, run=0.5),
}


def _by(column: str, effects: Mapping[str, float]) -> pl.Expr:
    return pl.col(column).replace_strict(effects, default=0.0, return_dtype=pl.Float64)


def _when(condition: pl.Expr, effect: float) -> pl.Expr:
    return pl.when(condition).then(effect).otherwise(0.0)


DAY = pl.col("finished_at").dt.date()
DENSITY = pl.col("density") - 5
KNIT = pl.col("fabric").is_in(["performance polo", "jersey T-shirt", "pique polo"])
STRETCHY = pl.col("fabric").is_in(["performance polo", "jersey T-shirt"])
PILE = pl.col("fabric").is_in(["polar fleece", "terry towel"])
CAP = pl.col("fabric") == "structured cap"
LIGHT_SEEN_THROUGH = (pl.col("fabric_shade") == "light") & KNIT
FAST = (pl.col("speed_spm") - 750) / 100
STAYS = pl.col("backing").is_in(["cut_away", "sheer_mesh", "fusible_sheer_mesh"])
HELD_LOOSELY = pl.col("hooping") == "floated"
BAD_HOOP = (
    (pl.col("machine") == BAD_HOOP_MACHINE) & (DAY >= LAST_WEEK) & (pl.col("hooping") == "hooped")
)

PIECE_LOGITS: dict[str, pl.Expr] = {
    "puckering": pl.lit(-5.16)
    + _by(
        "fabric",
        {
            "performance polo": 1.1,
            "jersey T-shirt": 0.6,
            "nylon shell": 0.5,
            "pique polo": 0.1,
            "woven shirt": -0.2,
            "sweatshirt fleece": -0.5,
            "polar fleece": -0.7,
            "terry towel": -0.9,
            "twill": -0.9,
            "structured cap": -1.2,
        },
    )
    + 0.35 * DENSITY
    + _by("backing", {"cut_away": -0.45, "fusible_sheer_mesh": -0.35, "adhesive": -0.2})
    + _when((pl.col("backing") == "tear_away") & STRETCHY, 0.9)
    + _when((pl.col("backing") == "cut_away") & (pl.col("backing_gsm") > 80), -0.25)
    + _when((pl.col("backing") == "sheer_mesh") & (pl.col("backing_gsm") < 45), 0.20)
    + _when(pl.col("backing_layers") == 2, -0.35)
    + pl.when(KNIT).then(0.15 * FAST).otherwise(0.0)
    + _by("seen_at", {"in_hoop": -0.6, "washed": 0.4})
    + pl.when(pl.col("backing") == "sheer_mesh")
    .then(_by("backing_supplier", SUPPLIER_PUCKERING))
    .otherwise(0.0),
    "gaps": pl.lit(-5.57)
    + _when(CAP, 0.6)
    + _when(STRETCHY, 0.3)
    + 0.15 * DENSITY
    + _by("backing", {"cut_away": -0.25, "water_soluble": 0.4, "none": 0.4})
    + _when(HELD_LOOSELY, 0.5)
    + _when(pl.col("backing_lot") == BAD_TEAR_AWAY.name, BAD_TEAR_AWAY.gaps_log_odds)
    + _when(pl.col("backing_lot") == BAD_CUT_AWAY.name, BAD_CUT_AWAY.gaps_log_odds)
    + _when(BAD_HOOP, BAD_HOOP_LOG_ODDS),
    "shadowing": pl.lit(-7.9)
    + _when(
        LIGHT_SEEN_THROUGH & STAYS & (pl.col("backing_shade") == "black"), SHADE_LOG_ODDS["black"]
    )
    + _when(pl.col("fabric_sheer") & (pl.col("fabric_shade") == "light") & STAYS, 0.8)
    + _when(
        pl.col("fabric_sheer")
        & (pl.col("fabric_shade") == "light")
        & STAYS
        & (pl.col("backing_shade") == "white"),
        SHADE_LOG_ODDS["white"],
    )
    + _when((pl.col("fabric_shade") == "dark") & KNIT & (pl.col("backing_shade") == "white"), 1.6)
    + _when((pl.col("backing") == "cut_away") & KNIT, 0.9)
    + _when(pl.col("backing_layers") == 2, 0.3),
    "sinking": pl.lit(-7.0)
    + _when(PILE, 4.0)
    + _when(pl.col("fabric") == "pique polo", 1.0)
    + _when(pl.col("fabric") == "sweatshirt fleece", 0.8)
    + _when((pl.col("topping") != "none") & PILE, TOPPING_LOG_ODDS)
    + _when((pl.col("topping") != "none") & ~PILE, -0.6)
    - 0.15 * DENSITY,
    "coverage": pl.lit(-6.06)
    + 12 * (pl.col("row_spacing_mm") - 0.40)
    + _when(pl.col("fabric_shade") == "dark", 0.4)
    + _when(pl.col("thread") == "60 polyester", 0.5),
    "looping": pl.lit(-6.22) + 0.2 * FAST + _when(pl.col("thread") == "40 metallic", 0.7),
    "bobbin_showing": pl.lit(-6.05) + 0.1 * FAST + 0.1 * DENSITY,
    "skipped_stitches": pl.lit(-6.79)
    + _when(CAP, 0.8)
    + _when((pl.col("needle_nm") <= 65) & ~KNIT, 0.6),
    "hoop_marks": pl.lit(-6.18)
    + _when(pl.col("hooping") != "hooped", -1.5)
    + _by("fabric", {"performance polo": 0.8, "nylon shell": 0.9, "polar fleece": 0.3}),
    "needle_cuts": pl.lit(-7.19)
    + _when((pl.col("needle_point") == "sharp") & KNIT, 1.5)
    + _when((pl.col("needle_nm") >= 80) & KNIT, 0.8)
    + _when(KNIT, 0.3)
    + 0.25 * DENSITY,
    "misplacement": pl.lit(-6.30) + _when(CAP, 0.5) + _when(HELD_LOOSELY, 0.5),
    "trimming_damage": pl.lit(-7.35) + _when(STAYS, 0.5) + _when(KNIT, 0.3),
    "soiling": pl.lit(-7.15) + _when(pl.col("fabric_shade") == "light", 0.7),
    "fabric_faults": pl.lit(-6.65),
}

RAISED: dict[str, pl.Expr] = {
    "skipped_stitches": _when(pl.col("needle_age") >= OVERDUE_STITCHES, OLD_NEEDLE_LOG_ODDS),
    "misplacement": _when(
        pl.col("finished_at").dt.time() > CARELESS_SHIFT.begins, CARELESS_LOG_ODDS
    ),
}
"""What comes on top for two kinds, and is drawn after all else: log odds by run."""

EVENT_LOG_RATES: dict[str, pl.Expr] = {
    "thread_breaks": pl.lit(0.78)
    + _by("thread", {"40 metallic": 1.0, "40 rayon": 0.25, "60 polyester": 0.30})
    + 0.15 * FAST
    + 0.12 * DENSITY
    + _when(CAP, 0.30)
    + pl.when((pl.col("machine") == DRIFT_MACHINE) & (DAY >= DRIFT_FROM))
    .then(DRIFT_PER_WEEK * ((DAY - pl.lit(DRIFT_FROM)).dt.total_days() / 7))
    .otherwise(0.0),
    "needle_breaks": pl.lit(-5.1)
    + _when(CAP, 1.1)
    + 0.2 * DENSITY
    + _when(pl.col("needle_nm") <= 65, 0.4),
    "bird_nests": pl.lit(-2.2) + _when(HELD_LOOSELY, 0.5) + _when(STRETCHY, 0.3),
}
