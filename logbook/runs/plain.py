"""A run in plain values."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any


def plain_run(run: Mapping[str, Any]) -> dict[str, Any]:
    """A run as JSON holds it."""
    return {
        name: value.isoformat() if isinstance(value, datetime) else value
        for name, value in run.items()
    }
