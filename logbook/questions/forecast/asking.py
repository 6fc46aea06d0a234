"""A forecast asked of an open book: the Python twin of the command."""

from __future__ import annotations

from dataclasses import replace

import polars as pl
from typing_extensions import Unpack

from logbook.adjusted_comparison import CELLS_BY
from logbook.questions.advice.asking import JobTold, names_meant, read_job, setup_told
from logbook.questions.advice.job import in_words, job_from
from logbook.questions.forecast.analyse import analyse
from logbook.questions.forecast.result import ForecastResult
from logbook.store import Store, Window
from logbook.vocabulary.defects import ANY


def forecast(
    store: Store, *, pieces: int, window: Window | None = None, **told: Unpack[JobTold]
) -> ForecastResult:
    """Look ahead to an order.

    Parameters
    ----------
    store
        The open book.
    pieces
        Good pieces wanted.
    window, told
        The job, as in :func:`logbook.questions.advice.asking.advise`.

    Raises
    ------
    RecordError
        A part of the setup cannot be read, or is none.
    TooLittleData
        No run is on the fabric, or nobody wrote down what was spoiled.
    """
    run = read_job(store, **told)
    kinds = [each for each in store.shop.kinds if each.measure == "pieces"]
    cells = in_words(
        store.cells([*(each.name for each in kinds), ANY.name], by=CELLS_BY, window=window)
    )
    job = job_from(
        cells.filter(pl.col("kind") == ANY.name),
        fabric=run["fabric"],
        design=run["design"],
        density=run["density"],
        fabric_shade=run["fabric_shade"],
        setup=setup_told(run),
    )
    totals = store.totals(by=CELLS_BY, window=window)
    result = analyse(
        cells,
        totals.with_columns(pl.col(CELLS_BY).cast(pl.String)),
        job=job,
        pieces=pieces,
        kinds=kinds,
        shop=store.shop,
    )
    return replace(result, notes=(*names_meant(store, job), *result.notes))
