"""The commands' questions, asked of an open book: Python twins of the command line."""

from __future__ import annotations

from logbook.analysis import control
from logbook.analysis.control import ControlResult
from logbook.cells import of_kind
from logbook.store import Store, Window
from logbook.vocabulary.defects import ANY, DefectKind, kind


def kind_of(store: Store, name: str) -> DefectKind:
    """The defect kind of that name, the shop's own and ``any`` among them."""
    return ANY if name == ANY.name else kind(name, own=store.shop.own_kinds)


def control_chart(
    store: Store,
    *,
    kind: str,
    by: control.By = "week",
    spread: control.Spread = "auto",
    baseline: tuple[str, str] | None = None,
    window: Window | None = None,
) -> ControlResult:
    """How one defect went over time, and which points stand out.

    Parameters
    ----------
    store
        The open book.
    kind
        Name of the defect kind, or ``any``.
    by
        What a point is: run, day, week or month.
    spread
        ``plain`` limits, ``laney`` for points that differ more than counting explains, or
        ``auto``.
    baseline
        First and last label of the points that set the usual rate; all where not given.
    window
        Which runs.

    Raises
    ------
    TooLittleData
        Nothing was inspected or sewn in the window.
    """
    grouped = ("run_ref", "day") if by == "run" else (by,)
    cells = of_kind(store.cells([kind], by=grouped, window=window), kind)
    return control.analyse(
        cells, kind=kind_of(store, kind), by=by, spread=spread, baseline=baseline
    )
