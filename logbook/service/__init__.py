"""The pages of a book and its HTTP API, served in one process."""

from __future__ import annotations

from logbook.service.holding import hold, let_go, the_book
from logbook.service.serving import application, run

__all__ = ["application", "hold", "let_go", "run", "the_book"]
