"""The documented truth as data: what ``truth.json`` holds, taken from the simulator itself."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from sample_logs.needles import OVERDUE_STITCHES
from sample_logs.outcomes import Effects
from sample_logs.setups import TOPPING_FROM
from sample_logs.shop import SHIFTS
from sample_logs.supplies import (
    BAD_CUT_AWAY,
    BAD_TEAR_AWAY,
    DOGWOOD_FROM,
    FIRST_DAY,
    LAST_DAY,
    LAST_WEEK,
    OFFERS,
    BadLot,
    Lot,
)
from sample_logs.truth import (
    BAD_HOOP_LOG_ODDS,
    BAD_HOOP_MACHINE,
    CARELESS_LOG_ODDS,
    CARELESS_SHIFT,
    DRIFT_FROM,
    DRIFT_MACHINE,
    DRIFT_PER_WEEK,
    OLD_NEEDLE_LOG_ODDS,
    SHADE_LOG_ODDS,
    SPREADS,
    SUPPLIER_PUCKERING,
    TOPPING_LOG_ODDS,
)
from sample_logs.working_days import iso_week

__all__ = ["documented_truth"]


def documented_truth(
    seed: int, lots: Sequence[Lot], effects: Mapping[str, Effects]
) -> dict[str, Any]:
    """Return the planted truth as one object fit for JSON.

    Odds ratios and rate ratios are those of the simulator, not estimates from the sheets.
    """
    return {
        "seed": seed,
        "period": {
            "from": FIRST_DAY.isoformat(),
            "to": LAST_DAY.isoformat(),
            "last_week": iso_week(LAST_WEEK),
        },
        "suppliers": _suppliers(),
        "bad_lots": [_bad_lot(BAD_TEAR_AWAY), _bad_lot(BAD_CUT_AWAY)],
        "drift": {
            "kind": "thread_breaks",
            "machine": DRIFT_MACHINE,
            "from_week": iso_week(DRIFT_FROM),
            "rate_ratio_per_week": _exp(DRIFT_PER_WEEK),
            "rate_ratio_in_last_week": _exp(DRIFT_PER_WEEK * (LAST_WEEK - DRIFT_FROM).days / 7),
        },
        "change_that_helped": {
            "kind": "sinking",
            "fabrics": ["polar fleece", "terry towel"],
            "topping": "water_soluble_film",
            "from_week": iso_week(TOPPING_FROM),
            "odds_ratio": _exp(TOPPING_LOG_ODDS),
        },
        **_raised(),
        "shade_mismatch": {
            "kind": "shadowing",
            "where": "light, sheer garments on sheer_mesh",
            "odds_ratio_against_beige": {
                shade: _exp(log_odds) for shade, log_odds in SHADE_LOG_ODDS.items()
            },
        },
        "confounding": {
            "backing": "dense and difficult designs get cut_away, heavier weights, more layers",
            "supplier": "Birch gets the stretchy, dense jobs on sheer_mesh and cut_away",
            "needle": "ball points on knits, sharps on wovens",
        },
        "last_week": _last_week(),
        "spreads": {
            kind: {name: getattr(spread, name) for name in spread.__dataclass_fields__}
            for kind, spread in SPREADS.items()
        },
        "lots": _lots(lots, effects),
    }


def _raised() -> dict[str, Any]:
    """What is drawn on top of all else."""
    return {
        "old_needles": {
            "kind": "skipped_stitches",
            "needle_age_stitches_from": OVERDUE_STITCHES,
            "needle_age_band": "overdue",
            "odds_ratio": _exp(OLD_NEEDLE_LOG_ODDS),
        },
        "shifts": {
            shift.name: {"from": f"{shift.begins:%H:%M}", "to": f"{shift.ends:%H:%M}"}
            for shift in SHIFTS
        },
        "careless_shift": {
            "kind": "misplacement",
            "shift": CARELESS_SHIFT.name,
            "odds_ratio": _exp(CARELESS_LOG_ODDS),
        },
    }


def _exp(log_ratio: float) -> float:
    return round(math.exp(log_ratio), 3)


def _suppliers() -> dict[str, Any]:
    """Odds ratio of puckering against Alder, for each backing that a supplier sells."""
    return {
        supplier: {
            "puckering_odds_ratio_against_alder": {
                backing: _exp(log_odds) if backing == "sheer_mesh" else 1.0
                for backing in sorted({o.backing for o in OFFERS if o.supplier == supplier})
            },
            "other_kinds": "no difference but for the planted bad lots",
            "delivers_from": iso_week(DOGWOOD_FROM if supplier == "Dogwood" else FIRST_DAY),
        }
        for supplier, log_odds in SUPPLIER_PUCKERING.items()
    }


def _bad_lot(bad: BadLot) -> dict[str, Any]:
    return {
        "lot": bad.name,
        "supplier": bad.supplier,
        "backing": bad.backing,
        "gsm": bad.gsm,
        "kind": "gaps",
        "from_week": iso_week(bad.opened),
        "to_week": iso_week(bad.last_day),
        "odds_ratio": _exp(bad.gaps_log_odds),
    }


def _last_week() -> dict[str, Any]:
    return {
        "week": iso_week(LAST_WEEK),
        "gaps": {
            "lot": BAD_CUT_AWAY.name,
            "lot_odds_ratio": _exp(BAD_CUT_AWAY.gaps_log_odds),
            "machine_with_worn_hoop": BAD_HOOP_MACHINE,
            "hoop_odds_ratio": _exp(BAD_HOOP_LOG_ODDS),
        },
        "held_run": "one needle break with needle_parts_found = false",
        "setup_mix": [
            "Dogwood's share far above before",
            "Cedar's share of cut_away far above before",
            "water_soluble_film now on most pique polos too",
        ],
        "thread_breaks": f"still rising on {DRIFT_MACHINE}",
    }


def _lots(lots: Sequence[Lot], effects: Mapping[str, Effects]) -> dict[str, Any]:
    """Every lot with its log odds for the kinds in which lots differ, without the planted part."""
    kinds = [kind for kind, spread in SPREADS.items() if spread.lot > 0]
    return {
        lot.name: {
            "supplier": lot.supplier,
            "backing": lot.backing,
            "gsm": lot.gsm,
            "opened": lot.opened.isoformat(),
            "log_odds": {kind: round(effects[kind].lot[lot.name], 3) for kind in kinds},
        }
        for lot in lots
    }
