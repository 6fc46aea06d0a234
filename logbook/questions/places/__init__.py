"""Where on a design the defects lie, and whether they lean to dense places."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from logbook.questions.parameters import Metavar, Offered, Parameters
from logbook.questions.question import Question, refused

if TYPE_CHECKING:
    from collections.abc import Mapping

    from logbook.questions.places.result import PlacesResult
    from logbook.store import Store


def _with_a_file(store: Store) -> Mapping[str, str]:
    from logbook.book.designs import designs  # late: not needed for --help

    return {each.name: each.name for each in designs(store)}


class PlacesParameters(Parameters):
    """On which design."""

    design: Annotated[
        str,
        Field(title="Design", description="A design whose stitch file the book holds."),
        Metavar("D"),
        Offered(_with_a_file),
    ]


def ask(store: Store, parameters: PlacesParameters) -> PlacesResult:
    """Hold the marks on the newest version of a design against its density.

    Raises
    ------
    ParameterError
        The book holds no stitch file of that design.
    TooLittleData
        Nothing is marked on it.
    """
    from logbook.errors import RecordError  # late: not needed for --help
    from logbook.questions.places.analyse import nothing_marked
    from logbook.questions.places.asking import places_on

    try:
        found = places_on(store, parameters.design).result
    except RecordError as problem:
        raise refused(problem.reasons, problem.hint) from problem
    if found is None:
        raise nothing_marked(parameters.design)
    return found


QUESTION = Question(
    name="places",
    title="Places",
    help="Find out whether defects sit where a design is densest.",
    asks="Do defects sit where the design is densest?",
    parameters=PlacesParameters,
    ask=ask,
    room=__name__,
    no_figure="the page of designs draws the marks over the density map",
    in_menu=False,
    waiting="Measuring the design…",
    when_empty="Once defects are marked on the drawing of a design, where they sit is told here.",
)
