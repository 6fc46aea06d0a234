"""How one defect went over time, and which points stand out: the control chart."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field, field_validator

from logbook.questions.parameters import Defect, InWindow, Metavar, kind_of
from logbook.questions.question import Question

if TYPE_CHECKING:
    from logbook.questions.control.result import ControlResult
    from logbook.store import Store


class ChartParameters(InWindow):
    """What to chart."""

    defect: Defect
    by: Annotated[
        Literal["run", "day", "week", "month"],
        Field(title="By", description="What one point is."),
    ] = "week"
    spread: Annotated[
        Literal["auto", "plain", "laney"],
        Field(
            title="Limits",
            description="auto widens the limits where runs really differ more.",
        ),
    ] = "auto"
    baseline: Annotated[
        str | None,
        Field(
            title="Usual rate from",
            description="Points that set the usual rate, such as 2026-W01..2026-W20.",
        ),
        Metavar("FROM..TO"),
    ] = None

    @field_validator("baseline")
    @classmethod
    def _from_to(cls, text: str | None) -> str | None:
        if text is not None and not all(part.strip() for part in (text + "..").split("..")[:2]):
            raise ValueError(f"{text!r} is not FROM..TO, as 2026-W01..2026-W20")
        return text

    def baseline_labels(self) -> tuple[str, str] | None:
        """First and last label of the points that set the usual rate; None for all."""
        if self.baseline is None:
            return None
        first, _, last = self.baseline.partition("..")
        return first.strip(), last.strip()


def ask(store: Store, parameters: ChartParameters) -> ControlResult:
    """Chart one defect over time.

    Raises
    ------
    TooLittleData
        Nothing was inspected or sewn in the window.
    """
    from logbook.cells import of_kind  # late: not needed for --help
    from logbook.questions.control.analyse import analyse

    grouped = ("run_ref", "day") if parameters.by == "run" else (parameters.by,)
    cells = store.cells([parameters.defect], by=grouped, window=parameters.window())
    return analyse(
        of_kind(cells, parameters.defect),
        kind=kind_of(store, parameters.defect),
        by=parameters.by,
        spread=parameters.spread,
        baseline=parameters.baseline_labels(),
    )


QUESTION = Question(
    name="chart",
    title="Chart",
    help="Chart one defect over time, with limits and signals.",
    asks="Has the rate of a defect changed, or is this the usual up and down?",
    parameters=ChartParameters,
    ask=ask,
    room=__name__,
    waiting="Charting…",
    when_empty="Once runs are logged, each kind of defect is charted here over time.",
)
