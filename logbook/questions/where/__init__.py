"""Where more goes wrong than was to be expected: any column or two crossed, pieces and money."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from logbook.questions.parameters import InWindow, Metavar, Offered, kind_understood
from logbook.questions.question import Question
from logbook.questions.where.defects import COST

if TYPE_CHECKING:
    from logbook.questions.where.result import WhereResult
    from logbook.store import Store

MOST_CROSSED = 2


def _defects(store: Store) -> Mapping[str, str]:
    from logbook.vocabulary.defects import ANY  # late: not needed for --help

    return {COST: "Money lost", **{each.name: each.label for each in (ANY, *store.shop.kinds)}}


def _defect_understood(store: Store, text: str) -> str:
    if text.strip().casefold() in (COST, "money", "money lost"):
        return COST
    return kind_understood(store, text)


def _columns(store: Store) -> Mapping[str, str]:
    from logbook.questions.where.columns import columns  # late: not needed for --help

    return columns(store)


def _columns_understood(store: Store, text: str) -> str:
    from logbook.questions.where.columns import understood  # late: not needed for --help

    return ",".join(understood(store, text, most=MOST_CROSSED))


class WhereParameters(InWindow):
    """What went wrong, and by which columns it is asked where."""

    defect: Annotated[
        str,
        Field(title="What", description="A kind of defect, any for all of them, cost for money."),
        Metavar("KIND|any|cost"),
        Offered(_defects, understood=_defect_understood),
    ] = COST
    by: Annotated[
        str | None,
        Field(
            title="By",
            description="A column, such as machine, or two: fabric,backing. None: all in turn.",
        ),
        Metavar("COLUMN[,COLUMN]"),
        Offered(_columns, unset="Every column in turn", understood=_columns_understood),
    ] = None
    and_by: Annotated[
        str | None,
        Field(title="Crossed with", description="A second column."),
        Metavar("COLUMN"),
        Offered(_columns, unset="Nothing", understood=_columns_understood),
    ] = None

    @property
    def columns(self) -> tuple[str, ...]:
        """The columns, one or two; none for all in turn."""
        told = ",".join(each for each in (self.by, self.and_by) if each)
        return tuple(dict.fromkeys(filter(None, told.split(","))))


def ask(store: Store, parameters: WhereParameters) -> WhereResult:
    """Hold what each level showed against what was to be expected of it.

    Raises
    ------
    TooLittleData
        No run of the window recorded the kind.
    ParameterError
        More than two columns.
    """
    from logbook.questions.where.analyse import analyse  # late: not needed for --help
    from logbook.questions.where.asking import record_of

    record = record_of(store, parameters)
    return analyse(record, by=parameters.columns, shop=store.shop)


QUESTION = Question(
    name="where",
    title="Where",
    help="Find where more goes wrong than was to be expected, by any column or two crossed, in "
    "pieces and money: which lot (--by backing_lot), machine, operator or shift; which file "
    "goes back to its digitizer (--by design); which garment and setup made most scrap "
    "(--defect cost --by fabric,backing); whether needles are changed too late "
    "(--by needle_age_band); which site departs from the recipe (--by site); spoilage against "
    "allowance and true cost per thousand stitches (--defect cost --by customer).",
    asks="Which lot, machine, operator, file or customer shows more than was to be expected?",
    parameters=WhereParameters,
    ask=ask,
    room=__name__,
    waiting="Holding every level against what was to be expected…",
    when_empty="Once runs are logged, it is said here where more goes wrong than was to be "
    "expected, and what it costs.",
)
