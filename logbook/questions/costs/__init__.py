"""What each kind of defect has cost, in the order in which to look at them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field

from logbook.questions.parameters import InWindow
from logbook.questions.question import Question

if TYPE_CHECKING:
    from logbook.questions.costs.result import CostsResult
    from logbook.store import Store


class CostsParameters(InWindow):
    """Which runs, and what to order by."""

    order: Annotated[
        Literal["cost", "count"],
        Field(title="Order", description="By what it cost, or by how often it came up."),
    ] = "cost"


def ask(store: Store, parameters: CostsParameters) -> CostsResult:
    """Put the shop's kinds of defect in the order of what they cost.

    Raises
    ------
    TooLittleData
        No defect was recorded in the window.
    """
    from logbook.questions.costs.analyse import analyse  # late: not needed for --help

    names = [each.name for each in store.shop.kinds]
    cells = store.cells(names, by=(), window=parameters.window())
    return analyse(cells, shop=store.shop, order=parameters.order)


QUESTION = Question(
    name="costs",
    title="Costs",
    help="Rank the kinds of defect by what they have cost, dearest first.",
    asks="Which kinds of defect cost most, and so are to be worked on first?",
    parameters=CostsParameters,
    ask=ask,
    room=__name__,
    in_menu=False,
    waiting="Adding up…",
    when_empty="Once runs are logged, it is said here which kinds of defect cost most.",
)
