"""Which setup factors go with a defect, on like jobs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.questions.parameters import Defect, InWindow, kind_of
from logbook.questions.question import Question

if TYPE_CHECKING:
    from logbook.questions.factors.result import FactorsResult
    from logbook.store import Store


class FactorsParameters(InWindow):
    """Which defect to look for causes of."""

    defect: Defect


def ask(store: Store, parameters: FactorsParameters) -> FactorsResult:
    """Set every level of every setup factor against its other levels on like jobs.

    Raises
    ------
    TooLittleData
        Too few defects were counted there.
    """
    from logbook.adjusted_comparison import CELLS_BY  # late: not needed for --help
    from logbook.book.materials import shop_with_materials
    from logbook.cells import of_kind
    from logbook.questions.factors.analyse import analyse

    cells = store.cells([parameters.defect], by=CELLS_BY, window=parameters.window())
    return analyse(
        of_kind(cells, parameters.defect),
        kind=kind_of(store, parameters.defect),
        shop=shop_with_materials(store),
    )


QUESTION = Question(
    name="factors",
    title="Factors",
    help="Find which setup factors go with a defect, on like jobs.",
    asks="Which setup factors go with a defect?",
    parameters=FactorsParameters,
    ask=ask,
    room=__name__,
    waiting="Comparing like jobs…",
    when_empty="Once runs are logged, what goes with each kind of defect is looked for here.",
)
