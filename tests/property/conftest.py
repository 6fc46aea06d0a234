"""Run frames are made by the same module as in the unit tests of the book."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "unit" / "store"))
