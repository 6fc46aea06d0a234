"""The HTTP API of a book, for other systems: JSON in and out with the run sheet's names."""

from __future__ import annotations

from logbook.service.api.application import api, mounted
from logbook.service.api.logging_runs import ShortWay

__all__ = ["ShortWay", "api", "mounted"]
