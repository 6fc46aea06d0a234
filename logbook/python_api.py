"""The book as Python sees it: opened, asked, added to, closed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

import polars as pl

from logbook.errors import ParameterError
from logbook.store import book_place
from logbook.store import new_book as start_store
from logbook.store.interface import Store, Window
from logbook.store.served import reach_book
from logbook.store.settings import STARTING_SETTINGS

if TYPE_CHECKING:
    from logbook.book.runs import Logged
    from logbook.book.sheets import ImportResult
    from logbook.questions.answer import Answer
    from logbook.questions.trials.planning import PlannedTrial
    from logbook.runs.trials import KeptTrial

Place = str | PathLike[str]
SOURCE = "Python"


def open_book(place: Place | None = None) -> Book:
    """Open a book, or reach it through the service that holds it.

    Parameters
    ----------
    place
        Its folder; where none is named, the one that ``LOGBOOK_BOOK`` names, else ``./book``.

    Raises
    ------
    LogbookError
        There is no book there, or it cannot be opened; the hint says what to do.
    """
    return Book(reach_book(book_place(None if place is None else str(place))))


def new_book(place: Place, *, settings: str = STARTING_SETTINGS) -> Book:
    """Start an empty book in a new or empty folder.

    Parameters
    ----------
    place
        The folder.
    settings
        What ``shop.toml`` is to hold: name, currency, costs.

    Raises
    ------
    LogbookError
        The folder holds something, or the settings do not make sense.
    """
    return Book(start_store(str(place), settings=settings))


class Book:
    """One open book; close it, or use it as a context manager.

    Attributes
    ----------
    store
        Everything that can be asked of the book's database.
    """

    def __init__(self, store: Store) -> None:
        self.store = store

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def __repr__(self) -> str:
        return f"Book({self.store.place!r})"

    def close(self) -> None:
        """Let go of the book."""
        self.store.close()

    def ask(self, question: str, /, **parameters: Any) -> Answer[Any]:
        """Ask one of the questions of ``logbook.questions``, such as ``"chart"``.

        Parameters
        ----------
        question
            Its name, which is that of its command.
        **parameters
            Those of the command, with underscores: ``defect="puckering"``.

        Returns
        -------
        Answer
            With ``headline``, ``sentences``, ``notes``, ``tables``, ``table()`` (Polars),
            ``figure()`` (Plotly) and ``as_json()``; notebooks show it.

        Raises
        ------
        ParameterError
            There is no such question, or it cannot be asked with these values.
        AnalysisError
            The record cannot answer it.
        """
        from logbook.questions import QUESTIONS  # late: brings the statistics

        if question not in QUESTIONS:
            sentence = f"there is no question {question!r}"
            raise ParameterError(
                f"Nothing was asked: {sentence}.",
                f"the questions are: {', '.join(QUESTIONS)}",
                reasons={"question": sentence},
            )
        asked = QUESTIONS[question]
        return asked.answer(self.store, asked.parsed(parameters))

    def plan_trial(
        self, *, keep: bool = True, **wanted: Any
    ) -> tuple[PlannedTrial, KeptTrial | None]:
        """Draw up a fair trial of one change, and keep it where it can decide.

        Parameters
        ----------
        keep
            Whether it is written down.
        **wanted
            The work (``fabric``, ``design``, ``job``, ``machine``, ``fabric_shade``, ``site``) and
            the rest of :class:`logbook.questions.trials.wishes.TrialWish`: ``factor="topping",
            before="none", after="water_soluble_film"``, or ``suggestion=1``.

        Raises
        ------
        ParameterError, RecordError
            What is wanted cannot be.
        AnalysisError
            The record holds too little of such work.
        """
        from logbook.questions.trials.keeping import plan_and_keep  # late: brings the statistics
        from logbook.runs.trials import SCOPE

        scope = {name: wanted.pop(name) for name in SCOPE if name in wanted}
        return plan_and_keep(self.store, scope, source=SOURCE, keep=keep, **wanted)

    def start_trial(self, ref: str) -> KeptTrial:
        """Start a planned trial: from now on the form offers its loads.

        Raises
        ------
        RecordError
            It runs or has ended already.
        """
        from logbook.book.trials import start_trial, trial_named  # late: as above

        return start_trial(self.store, trial_named(self.store, ref), source=SOURCE)

    def judge_trial(self, ref: str | None = None) -> Answer[Any]:
        """Say what a trial says so far; without a reference the only one that is running."""
        return self.ask("trials", **({} if ref is None else {"trial": ref}))

    def end_trial(self, ref: str, *, why: str | None = None) -> KeptTrial:
        """End a trial with the verdict that it has now.

        Raises
        ------
        RecordError
            It has ended already.
        """
        from logbook.book.trials import trial_named  # late: as above
        from logbook.questions.trials.keeping import judge_and_end

        seen = trial_named(self.store, ref)
        return judge_and_end(self.store, seen, why=why, source=SOURCE)[0]

    def add(self, run: Mapping[str, Any] | None = None, /, **values: Any) -> Logged:
        """Log one run, by a mapping or by keyword; names are the run sheet's columns.

        Raises
        ------
        RecordError
            The run cannot be true; ``reasons`` maps columns to sentences.
        RunConflict
            The reference is taken by a run with other content.
        """
        from logbook.book.runs import log_run  # late: brings the rules of runs

        return log_run(self.store, {**(run or {}), **values}, source=SOURCE)

    def import_sheets(
        self,
        *paths: Place,
        sheet: str | None = None,
        amend: bool = False,
        dry_run: bool = False,
    ) -> ImportResult:
        """Take run sheets in, each as a whole; see :func:`logbook.book.sheets.import_sheets`.

        Raises
        ------
        NotARunSheet
            A file is refused whole.
        """
        from logbook.book.sheets import import_sheets  # late: brings the readers of files

        files = [Path(path) for path in paths]
        return import_sheets(self.store, files, sheet=sheet, amend=amend, dry_run=dry_run)

    def runs(
        self,
        *,
        since: date | None = None,
        until: date | None = None,
        site: str | None = None,
        **where: str | float | bool,
    ) -> pl.DataFrame:
        """The runs with the run sheet's columns, oldest first.

        Parameters
        ----------
        since, until
            Whole days, both included.
        site
            One site only.
        **where
            Columns and the values they must have: ``backing="cut_away"``.
        """
        return self.store.runs(Window(since=since, until=until, site=site, where=where))

    def export(
        self,
        path: Place,
        *,
        since: date | None = None,
        until: date | None = None,
        site: str | None = None,
    ) -> int:
        """Write runs as a run sheet (``.csv``, ``.xlsx``, ``.parquet``); return how many.

        Raises
        ------
        IntakeError
            The ending is none of the three, or the file cannot be written.
        """
        from logbook.book.export import export_runs  # late: brings the writers of files

        window = Window(since=since, until=until, site=site)
        return export_runs(self.store, Path(path), window=window)
