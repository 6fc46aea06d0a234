"""Reads the published cases in ``data/`` and compares results with them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

DATA = Path(__file__).parent / "data"


@dataclass(frozen=True)
class Case:
    """One published case: see ``data/README.md``."""

    name: str
    inputs: dict[str, Any]
    expected: dict[str, Any]
    tolerance: dict[str, dict[str, float]]

    def check(self, key: str, got: Any) -> None:
        """Fail unless ``got`` agrees with the expected value within the case's tolerance."""
        allowed = self.tolerance.get(key, self.tolerance["default"])
        np.testing.assert_allclose(
            got,
            np.asarray(self.expected[key], dtype=float),
            rtol=allowed.get("rel", 0.0),
            atol=allowed.get("abs", 0.0),
            err_msg=f"{self.name}: {key}",
        )


def load(name: str) -> Case:
    """Return the case of that name."""
    raw = json.loads((DATA / f"{name}.json").read_text(encoding="utf-8"))
    return Case(name, raw["inputs"], raw["expected"], raw["tolerance"])


def positions(marked: Any) -> list[int]:
    """Return where a boolean array is True, counted from 1 as the cases do."""
    return [int(index) + 1 for index in np.flatnonzero(marked)]
