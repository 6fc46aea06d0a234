"""The pages of a book and its HTTP API, served in one process."""

from __future__ import annotations

from logbook.service.app import application
from logbook.service.server import run
from logbook.service.state import close_book, set_book, the_book

__all__ = ["application", "close_book", "run", "set_book", "the_book"]
