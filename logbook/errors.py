"""Every exception of the project.

LogbookError
├── VocabularyError          a word that the trade lists do not know
├── SettingsError            shop.toml cannot be read or contradicts itself
├── KernelError              numbers that cannot be (also a ValueError)
├── RecordError              one run that cannot be true (form, command line)
├── ParameterError           a question asked with values that it cannot take
├── IntakeError              a file refused whole
│   ├── NotARunSheet         no header, missing required column, unreadable
│   └── NotAnAnswer          what was answered about a sheet is none of the choices
├── StitchFileError          a stitch file that cannot be read
│   ├── NotAStitchFile       something else, empty, or no design in it
│   ├── BrokenStitchFile     it breaks off, or is damaged
│   └── StitchFileTooLarge   larger than any design
├── StoreError
│   ├── NoBook               no book at that place
│   ├── NotABook             a folder or file that is something else, or damaged
│   ├── NotABackup           a file that is no backup, or a damaged one
│   ├── BookBusy             another process holds the book
│   ├── BookNewer            the book was written by a newer version
│   ├── BookReadOnly         the folder or disk cannot be written
│   ├── RunNotFound          no run with that reference
│   ├── RunConflict          the reference is taken by a run with other content
│   ├── RunChanged           somebody else changed the run meanwhile
│   ├── DocumentNotFound     no document with that reference in that collection
│   └── DocumentChanged      somebody else changed the document meanwhile
├── AnalysisError            an answer that cannot be given; in a page this *is* the finding
│   └── TooLittleData        carries what was needed and what there is
└── ServiceError             the service cannot start

Each carries a message (what was attempted, what was found) and a hint (what to do).
"""

from __future__ import annotations


class LogbookError(Exception):
    """Base of every error that the project raises on purpose.

    Parameters
    ----------
    message
        One or two sentences: what was attempted and what was found, with the place
        (file, row, column) where there is one.
    hint
        What the user can do about it.
    """

    def __init__(self, message: str, hint: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        return self.message if self.hint is None else f"{self.message}\nhint: {self.hint}"


class VocabularyError(LogbookError):
    """A word that the lists of the trade do not know."""


class SettingsError(LogbookError):
    """shop.toml cannot be read or contradicts itself."""


class KernelError(LogbookError, ValueError):
    """Numbers handed to a kernel that cannot be."""


class RecordError(LogbookError):
    """One run that cannot be true.

    ``reasons`` maps a column name to the sentence that says why.
    """

    def __init__(self, message: str, hint: str | None = None, *, reasons: dict[str, str]) -> None:
        super().__init__(message, hint)
        self.reasons = reasons


class ParameterError(LogbookError):
    """A question asked with values that it cannot take.

    ``reasons`` maps a parameter's name to the sentence that says why.
    """

    def __init__(self, message: str, hint: str | None = None, *, reasons: dict[str, str]) -> None:
        super().__init__(message, hint)
        self.reasons = reasons


class IntakeError(LogbookError):
    """A file or request refused whole; nothing was taken from it."""


class NotARunSheet(IntakeError):
    """No header, a missing required column, or not readable as a table."""


class NotAnAnswer(IntakeError):
    """What was answered about a sheet is none of the choices, or answers no question."""


class StitchFileError(LogbookError):
    """A stitch file that cannot be read."""


class NotAStitchFile(StitchFileError):
    """Something else than a stitch file, empty, or no design in it."""


class BrokenStitchFile(StitchFileError):
    """The file breaks off, or is damaged."""


class StitchFileTooLarge(StitchFileError):
    """The file is larger than any design."""


class StoreError(LogbookError):
    """The book cannot be opened, read or written."""


class NoBook(StoreError):
    """There is no book at that place."""


class NotABook(StoreError):
    """The folder or file there is something else, or damaged."""


class NotABackup(StoreError):
    """The file is no backup of a book, or a damaged one."""


class BookBusy(StoreError):
    """Another process holds the book; ``process_id`` names it where known."""

    def __init__(
        self, message: str, hint: str | None = None, *, process_id: int | None = None
    ) -> None:
        super().__init__(message, hint)
        self.process_id = process_id


class BookNewer(StoreError):
    """The book was written by a newer version; it is left untouched."""


class BookReadOnly(StoreError):
    """The folder or the disk cannot be written."""


class RunNotFound(StoreError):
    """No run with that reference."""


class RunConflict(StoreError):
    """The reference is taken by a run with other content."""


class RunChanged(StoreError):
    """Somebody else changed the run since it was read."""


class DocumentNotFound(StoreError):
    """No document with that reference in that collection."""


class DocumentChanged(StoreError):
    """Somebody else changed the document since it was read."""


class AnalysisError(LogbookError):
    """An answer that cannot be given from this record."""


class TooLittleData(AnalysisError):
    """Not enough record; ``needed`` and ``got`` say how far off, in ``unit``."""

    def __init__(
        self, message: str, hint: str | None = None, *, needed: float, got: float, unit: str
    ) -> None:
        super().__init__(message, hint)
        self.needed = needed
        self.got = got
        self.unit = unit


class ServiceError(LogbookError):
    """The service cannot start or go on."""
