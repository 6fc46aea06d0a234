"""Which backing supplier gives fewer defects on the same jobs, and at what cost."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from logbook.questions.parameters import (
    Amount,
    Backing,
    Defect,
    InWindow,
    Metavar,
    Offered,
    kind_of,
    known_in,
)
from logbook.questions.question import Question

if TYPE_CHECKING:
    from logbook.questions.suppliers.result import SuppliersResult
    from logbook.store import Store


class SuppliersParameters(InWindow):
    """Which suppliers to compare, and by what."""

    defect: Defect = "any"
    backing: Backing = None
    reference: Annotated[
        str | None,
        Field(title="Compare with", description="Supplier to compare the others with."),
        Metavar("NAME"),
        Offered(known_in("backing_supplier"), unset="The most used"),
    ] = None
    margin: Annotated[
        Amount,
        Field(
            title="Does not matter, in 100 pieces",
            description="Difference in 100 pieces that does not matter.",
        ),
        Metavar("PP"),
    ] = None


def ask(store: Store, parameters: SuppliersParameters) -> SuppliersResult:
    """Compare backing suppliers by one kind of defect.

    Raises
    ------
    TooLittleData
        Nothing was recorded there.
    AnalysisError
        The reference is not among the suppliers, or the margin is more than all pieces.
    """
    from logbook.adjusted_comparison import CELLS_BY  # late: not needed for --help
    from logbook.book.materials import shop_with_materials
    from logbook.questions.suppliers.analyse import analyse
    from logbook.questions.suppliers.cost import TOTALS_BY
    from logbook.vocabulary.defects import ANY, NOT_OF_BACKING

    kinds = tuple(dict.fromkeys((parameters.defect, ANY.name, *NOT_OF_BACKING)))
    setups = store.cells(kinds, by=CELLS_BY, window=parameters.window())
    return analyse(
        setups,
        kind=kind_of(store, parameters.defect),
        shop=shop_with_materials(store),
        backing=parameters.backing,
        reference=parameters.reference,
        margin=None if parameters.margin is None else parameters.margin / 100,
        totals=store.totals(
            by=(*TOTALS_BY, "backing_lot"), window=parameters.window(backing=parameters.backing)
        ),
        setups=setups,
    )


QUESTION = Question(
    name="suppliers",
    title="Suppliers",
    help="Compare backing suppliers by defect rate, like for like, and by cost.",
    asks="Which backing supplier gives fewer defects on the same jobs?",
    parameters=SuppliersParameters,
    ask=ask,
    room=__name__,
    waiting="Comparing like jobs…",
    when_empty="Once runs name their backing's supplier, suppliers are compared here.",
)
