"""Examples for the description: requests as literals, answers as the invented shop gave them.

The answers in ``examples.json`` are those of the sample logs, their lists cut short.
"""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any

A_RUN: dict[str, Any] = {
    "run_ref": "M1-0412",
    "finished_at": "2026-10-30T14:30",
    "machine": "M1",
    "operator": "Noor A.",
    "fabric": "pique polo",
    "backing": "cut_away",
    "backing_supplier": "Alder",
    "pieces_sewn": 24,
    "pieces_inspected": 24,
    "puckering": 2,
    "thread_breaks": 1,
    "stitches_per_piece": 6200,
}

SENT: dict[str, dict[str, Any]] = {
    "Log a run, or many": {
        "one run": {"value": A_RUN},
        "two runs": {"value": [A_RUN, {**A_RUN, "run_ref": "M1-0413", "puckering": 0}]},
    },
    "Mark where defects and breaks were": {
        "a break": {
            "value": {
                "breaks": [{"kind": "thread_breaks", "head": 3, "colour_step": 2, "stitch": 2310}]
            }
        },
        "a defect's place": {"value": {"places": [{"kind": "puckering", "x_mm": 12.5, "y_mm": 8}]}},
    },
    "Correct a run": {"recounted": {"value": {"puckering": 1, "why": "recounted"}}},
    "Withdraw a run": {"entered twice": {"value": {"why": "entered twice"}}},
}
"""By the summary of the operation."""

WITH_PARAMETERS: dict[str, Any] = {
    "run_ref": "M1-0412",
    "since": "2026-09-01",
    "until": "2026-10-31",
    "week": "2026-W44",
    "defect": "puckering",
    "baseline": "2026-W01..2026-W20",
    "backing": "sheer_mesh",
    "reference": "Alder",
    "margin": 0.5,
    "fabric": "terry towel",
    "topping": "none",
    "machine": "M1",
}

EXAMPLES: dict[str, Any] = json.loads(
    files("logbook.service.api").joinpath("examples.json").read_text(encoding="utf-8")
)
"""By the name of the answer's schema."""
EXAMPLES["CorrectedRun"] = EXAMPLES["RunWithHistory"] | {"remarks": []}
