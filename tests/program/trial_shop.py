"""A small shop that sews towels, and a trial of film on top of them with known counts."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from logbook.book.runs import log_run
from logbook.runs.trials import ARMS, Arm, Trial, TrialChange, drawn_order
from logbook.store import new_book
from logbook.store.duckdb_store import DuckStore

TOWEL: dict[str, Any] = {
    "machine": "M1",
    "operator": "Ida",
    "job": "J1",
    "design": "Heron crest",
    "fabric": "terry towel",
    "backing": "tear_away",
    "backing_supplier": "Alder",
    "backing_lot": "A1",
    "topping": "none",
    "needle_nm": 75,
    "speed_spm": 700.0,
}
FILM = "water_soluble_film"
FIRST_DAY = datetime(2026, 3, 2, 8)


def towel_book(place: Path, *, runs: int = 60, pieces: int = 200) -> DuckStore:
    """A book of half a year of towels, one in twelve defective, as the shop sews them now."""
    random = np.random.default_rng(11)
    store = new_book(str(place))
    for number in range(runs):
        sunk = int(random.binomial(pieces, 0.08))
        finished = FIRST_DAY + timedelta(days=2 * number, hours=number % 7)
        log_run(
            store,
            {**TOWEL, "run_ref": f"R{number}", "finished_at": finished, "pieces_sewn": pieces,
             "pieces_inspected": pieces, "pieces_defective": sunk, "pieces_spoiled": sunk // 3,
             "sinking": sunk, "puckering": 0, "machine": f"M{number % 2 + 1}"},
            source="test",
        )  # fmt: skip
    return store


def film_trial(pairs: int = 12, *, pieces: int = 50, **changes: Any) -> Trial:
    """A trial of film on towels."""
    return Trial(
        **{
            "changes": (TrialChange("topping", "none", FILM),),
            "scope": {"fabric": "terry towel"},
            "defect": "any",
            "pieces_per_arm": pieces,
            "pairs": pairs,
            "first": drawn_order(pairs, 1),
            "seed": 1,
            "looks": tuple(range(6, pairs + 1)),
            "rate_now": 0.08,
            "smallest_difference": 0.04,
            "overdispersion": 0.1,
            "planned_on": date(2026, 8, 1),
            "cost_per_defective": 5.0,
            **changes,
        }
    )


def load_of(
    arm: Arm, number: int, *, sunk: int = 0, ref: str = "T1", **told: Any
) -> dict[str, Any]:
    """One load of a trial as a run, the ``number``-th half hour of its day."""
    return {
        **TOWEL,
        "run_ref": f"L{number}",
        "finished_at": datetime(2026, 9, 1, 8) + timedelta(minutes=30 * number),
        "topping": "none" if arm == "as now" else FILM,
        "trial": ref,
        "trial_arm": arm,
        "pieces_sewn": 50,
        "pieces_inspected": 50,
        "pieces_defective": sunk,
        "sinking": sunk,
        "needle_cuts": 0,
        **told,
    }


def loads_of(trial: Trial, now: Sequence[int], changed: Sequence[int]) -> list[dict[str, Any]]:
    """Loads of whole pairs in the drawn order, with so many pieces sunk in each."""
    runs = []
    for pair, first in enumerate(trial.first[: len(now)]):
        for arm in (first, next(each for each in ARMS if each != first)):
            sunk = now[pair] if arm == "as now" else changed[pair]
            runs.append(load_of(arm, len(runs), sunk=sunk))
    return runs
