"""The HTTP API of a book, for other systems: JSON in and out with the run sheet's names."""

from __future__ import annotations

from logbook.service.api.application import mounted

__all__ = ["mounted"]
