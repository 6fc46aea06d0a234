"""A production log and defect analytics service for machine embroidery.

>>> import logbook
>>> with logbook.open_book("demo-book") as book:
...     answer = book.ask("chart", defect="puckering")
...     print(answer.headline)

The libraries beneath are loaded at the first use of a name, so that importing this costs nothing.
"""

from __future__ import annotations

TYPE_CHECKING = False  # as in typing, which takes longer to load than all of this
if TYPE_CHECKING:
    from logbook.errors import LogbookError
    from logbook.python_api import Book, new_book, open_book

    __version__: str

__all__ = ["Book", "LogbookError", "__version__", "new_book", "open_book"]


def __getattr__(name: str) -> object:
    if name == "__version__":
        from importlib.metadata import version

        return version("embroidery-logbook")
    if name == "LogbookError":
        from logbook import errors

        return errors.LogbookError
    if name in __all__:
        from logbook import python_api

        return getattr(python_api, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
