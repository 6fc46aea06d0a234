"""What a question is: one declaration, of which command, route, page and Python call are made."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from pydantic import ValidationError

from logbook.errors import ParameterError, TooLittleData, VocabularyError
from logbook.questions.answer import Answer, R
from logbook.questions.faults import named, said
from logbook.questions.parameters import Parameters, offered_of

if TYPE_CHECKING:
    from logbook.store import Store

P = TypeVar("P", bound=Parameters)
MEND = "mend what is named and ask again"
"""What to do about values that nothing more is known of."""


@dataclass(frozen=True, slots=True)
class Question(Generic[P, R]):
    """A question that the record can answer.

    Attributes
    ----------
    name
        The command, the route under ``/api/`` and the page's address.
    title
        The page's name in the menu.
    help
        What it does, as a command's help says it.
    asks
        The question as a person would ask it.
    parameters
        The model of what it is asked with.
    ask
        Answers it from an open book.
    room
        The package that holds ``words``, ``tables``, ``figure`` and, in ``result``, ``AnswerJson``.
    no_figure
        Why there is no picture; None where there is one.
    in_menu
        Whether its page stands in the menu; else a page made by hand shows the answer too.
    as_command
        Whether its command is made of this declaration; else one made by hand asks it.
    answers_empty
        Whether a book without runs is answered too.
    waiting
        What is being done, for those who wait.
    when_empty
        What a book without runs will answer once it has some.
    """

    name: str
    title: str
    help: str
    asks: str
    parameters: type[P]
    ask: Callable[[Store, P], R]
    room: str
    no_figure: str | None = None
    in_menu: bool = True
    as_command: bool = True
    answers_empty: bool = False
    waiting: str = "Looking through the record…"
    when_empty: str = "Once runs are logged, this is answered here."

    def parsed(self, given: Mapping[str, Any]) -> P:
        """Read what it is asked with.

        Raises
        ------
        ParameterError
            A value is missing, unknown or cannot be; ``reasons`` says which and why.
        """
        try:
            return self.parameters.model_validate(dict(given))
        except ValidationError as problem:
            faults = problem.errors()
            raise refused({named(each): said(each) for each in faults}) from problem

    def answer(self, store: Store, parameters: P) -> Answer[R]:
        """Answer it from an open book.

        Raises
        ------
        ParameterError
            A value is none that this book knows.
        AnalysisError
            The record cannot answer this.
        """
        if not self.answers_empty and store.span() is None:
            raise TooLittleData(
                f"The book at {store.place} has no runs yet.",
                "log one with: logbook add KEY=VALUE…, or bring a spreadsheet in with: "
                "logbook import",
                needed=1,
                got=0,
                unit="runs",
            )
        asked = self._understood(store, parameters)
        return Answer(self, asked, self.ask(store, asked), store.shop)

    def asked(self, store: Store, **given: Any) -> Answer[R]:
        """Read what it is asked with, and answer it; raises as the two do."""
        return self.answer(store, self.parsed(given))

    def answer_schema(self) -> dict[str, Any]:
        """JSON Schema of the answer, made of the type that ``as_json`` returns."""
        from pydantic import TypeAdapter  # late: only descriptions need it

        shape = import_module(f"{self.room}.result").AnswerJson
        # Parts of two answers may have one name: each stands under its question's.
        template = f"#/components/schemas/{self.schema_name}.{{model}}"
        made = TypeAdapter(shape).json_schema(ref_template=template)
        made["$defs"] = {
            f"{self.schema_name}.{name}": part for name, part in made.get("$defs", {}).items()
        }
        made["properties"] |= {
            "finding": {"type": "string", "description": "The answer in one or two sentences."},
            "notes": {
                "type": "array",
                "items": {"type": "string"},
                "description": "What to keep in mind.",
            },
        }
        made["required"] += ["finding", "notes"]
        return made

    @property
    def schema_name(self) -> str:
        """What the description of the API calls the answer: ``Chart``."""
        return self.name.title().replace("-", "")

    def _understood(self, store: Store, parameters: P) -> P:
        """Bring spellings of the trade to the values that they mean."""
        changed: dict[str, str] = {}
        reasons: dict[str, str] = {}
        hint = None
        for name in self.parameters.model_fields:
            offered, value = offered_of(self.parameters, name), getattr(parameters, name)
            if offered is None or offered.understood is None or value is None:
                continue
            try:
                changed[name] = offered.understood(store, value)
            except VocabularyError as problem:
                reasons[name], hint = problem.message, problem.hint
        if reasons:
            raise refused(reasons, hint)
        return parameters.model_copy(update=changed)


def refused(reasons: Mapping[str, str], hint: str | None = None) -> ParameterError:
    """Values that a question cannot take."""
    says = "; ".join(each.rstrip(".") for each in reasons.values())
    return ParameterError(
        f"The question was not answered: {says}.",
        hint or MEND,
        reasons=dict(reasons),
    )
