"""Where thread and needles break: which head, needle, colour or part of the file."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from logbook.questions.parameters import InWindow, Metavar, Offered, known_in
from logbook.questions.question import Question

if TYPE_CHECKING:
    from logbook.questions.breaks.result import BreaksResult
    from logbook.store import Store


class BreaksParameters(InWindow):
    """Of which design, if only one."""

    design: Annotated[
        str | None,
        Field(title="Design", description="One design only."),
        Metavar("D"),
        Offered(known_in("design"), unset="Every design"),
    ] = None


def ask(store: Store, parameters: BreaksParameters) -> BreaksResult:
    """Count breaks by head, needle, colour and part of the file.

    Raises
    ------
    TooLittleData
        Nobody wrote down where enough breaks happened.
    """
    from logbook.questions.breaks.asking import break_patterns  # late: not needed for --help

    return break_patterns(store, window=parameters.window(), design=parameters.design)


QUESTION = Question(
    name="breaks",
    title="Breaks",
    help="Find the head, needle, colour or part of a file on which breaks gather.",
    asks="Do breaks fall on one head, one needle, one colour or one part of the file?",
    parameters=BreaksParameters,
    ask=ask,
    room=__name__,
    in_menu=False,
    waiting="Counting breaks by place…",
    when_empty="Once runs say where thread broke, the guilty head or needle is named here.",
)
