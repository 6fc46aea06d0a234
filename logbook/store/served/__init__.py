"""The book of a running service, reached from other processes as if it were opened here."""

from __future__ import annotations

from logbook.store.served.notice import Notice, read_notice, remove_notice, write_notice
from logbook.store.served.reaching import reach_book, running_service
from logbook.store.served.served_store import ServedStore

__all__ = [
    "Notice",
    "ServedStore",
    "reach_book",
    "read_notice",
    "remove_notice",
    "running_service",
    "write_notice",
]
