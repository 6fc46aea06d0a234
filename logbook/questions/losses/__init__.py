"""What each machine, job, lot or any other column has lost in money, beside its defect rate."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from logbook.questions.parameters import InWindow, Metavar, Offered
from logbook.questions.question import Question

if TYPE_CHECKING:
    from logbook.questions.losses.result import LossesResult
    from logbook.store import Store


def _columns(store: Store) -> Mapping[str, str]:  # noqa: ARG001 - every book has the same columns
    from logbook.cells import PERIODS  # late: not needed for --help
    from logbook.runs.factors import FACTORS

    periods = {name: name.capitalize() for name in PERIODS if name != "day"}
    return {each.column: each.label for each in FACTORS} | periods


def _column_understood(store: Store, text: str) -> str:
    from logbook.errors import VocabularyError  # late: as above

    known = _columns(store)
    name = text.strip().casefold().replace("-", "_").replace(" ", "_")
    labels = {label.casefold().replace(" ", "_"): column for column, label in known.items()}
    found = name if name in known else labels.get(name)
    if found is None:
        raise VocabularyError(
            f"by {text!r} is no column to group by; the columns are {', '.join(known)}"
        )
    return found


class LossesParameters(InWindow):
    """By which column to add up what was lost."""

    by: Annotated[
        str,
        Field(title="By", description="A column of the run sheet, such as machine or job."),
        Metavar("COLUMN"),
        Offered(_columns, understood=_column_understood),
    ]


def ask(store: Store, parameters: LossesParameters) -> LossesResult:
    """Add up what was lost, level by level of a column.

    Raises
    ------
    TooLittleData
        No run of the window recorded a defect of any kind.
    """
    from logbook.questions.losses.analyse import analyse  # late: not needed for --help
    from logbook.vocabulary.defects import ANY

    names = (ANY.name, *(each.name for each in store.shop.kinds))
    cells = store.cells(names, by=(parameters.by,), window=parameters.window())
    return analyse(cells, by=parameters.by, shop=store.shop)


QUESTION = Question(
    name="losses",
    title="Losses",
    help="Add up what defects cost by any column: job, machine, lot, operator.",
    asks="Where was most money lost to defects?",
    parameters=LossesParameters,
    ask=ask,
    room=__name__,
    waiting="Adding up…",
    when_empty="Once runs are logged, what defects cost is added up here by any column.",
)
