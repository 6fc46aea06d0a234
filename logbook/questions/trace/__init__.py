"""Everything that a lot, needle, machine or file touched: runs, jobs, customers and pieces."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import ConfigDict, Field

from logbook.questions.parameters import InWindow, Metavar
from logbook.questions.question import Question, refused

if TYPE_CHECKING:
    from logbook.questions.trace.result import TraceResult
    from logbook.store import Store

NOTHING = "Say what to follow, such as backing_lot=A2431."
_APART = re.compile(r"\s*[,;]\s*(?=\w+\s*=)")


class TraceParameters(InWindow):
    """What is followed; every other parameter is a column and the value that it must have."""

    model_config = ConfigDict(extra="allow")

    of: Annotated[
        str | None,
        Field(
            title="What to follow",
            description="Columns and their values, such as backing_lot=A2431 or machine=M3.",
        ),
        Metavar("COLUMN=VALUE"),
    ] = None

    @classmethod
    def lacking(cls, asked: Mapping[str, Any]) -> str:
        """Something must be followed."""
        return "" if set(asked) - set(InWindow.model_fields) else NOTHING

    def columns(self) -> dict[str, str]:
        """Columns and their values as text.

        Raises
        ------
        ParameterError
            None is named, one is named twice, or a part is no COLUMN=VALUE.
        """
        told: dict[str, str] = {}
        written = [part.partition("=") for part in _APART.split(self.of or "") if part.strip()]
        given = [*written]
        given += [(name, "=", str(value)) for name, value in (self.model_extra or {}).items()]
        for written_name, sign, value in given:
            name = written_name.strip().lower().replace("-", "_")
            if not sign or not value.strip():
                raise refused({"of": f"{written_name.strip()!r} is not COLUMN=VALUE"})
            if name in told:
                raise refused({name: f"{name} is given twice"})
            told[name] = value.strip()
        if not told:
            raise refused({"of": NOTHING})
        return told


def ask(store: Store, parameters: TraceParameters) -> TraceResult:
    """Follow what is named through the record.

    Raises
    ------
    ParameterError
        A column is none that runs are found by, or its value cannot be.
    """
    from logbook.errors import RecordError  # late: not needed for --help
    from logbook.questions.trace.asking import follow

    try:
        return follow(store, parameters.columns(), parameters.window())
    except RecordError as problem:
        raise refused(problem.reasons) from problem


QUESTION = Question(
    name="trace",
    title="Trace",
    help="List every run, job, customer and piece that a lot, needle, machine or file touched.",
    asks="What did this lot, needle, machine or file touch?",
    parameters=TraceParameters,
    ask=ask,
    room=__name__,
    as_command=False,
    waiting="Following it through the record…",
    when_empty="Once runs are logged, what a lot or a machine touched is listed here.",
)
