"""What goes with a defect, asked of an open book: Python twin of the command."""

from __future__ import annotations

from logbook.book.materials import shop_with_materials
from logbook.cells import of_kind
from logbook.questions.asking import need_runs
from logbook.questions.factors import analyse as factors
from logbook.questions.factors.analyse import FactorsResult
from logbook.questions.parameters import kind_of
from logbook.store import Store, Window


def which_factors(store: Store, *, kind: str, window: Window | None = None) -> FactorsResult:
    """Which setup factors go with a defect, on like jobs.

    Parameters
    ----------
    store
        The open book.
    kind
        Name of the defect kind, or ``any``.
    window
        Which runs.

    Raises
    ------
    TooLittleData
        Too few defects were counted there.
    """
    need_runs(store)
    cells = store.cells([kind], by=factors.CELLS_BY, window=window)
    return factors.analyse(
        of_kind(cells, kind), kind=kind_of(store, kind), shop=shop_with_materials(store)
    )
