"""Every question as a command, made of its one declaration."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal, get_args, get_origin

import typer
from pydantic_core import PydanticUndefined

from logbook.cli.options import AsJson, open_named, pairs
from logbook.cli.terminal import console, plainly, print_json, told_while_waiting
from logbook.errors import ParameterError
from logbook.questions.parameters import Parameters, in_order, metavar_of, offered_of
from logbook.questions.question import MEND, Question

if TYPE_CHECKING:
    from pydantic.fields import FieldInfo

    from logbook.store import Store

Html = Annotated[
    Path | None,
    typer.Option("--html", metavar="FILE", help="Also write the answer as one page."),
]
Words = Annotated[
    list[str] | None,
    typer.Argument(
        metavar="[KEY=VALUE]…",
        help="Parts of the setup now, such as topping=none; the rest is the usual one.",
    ),
]


def command_of(question: Question[Any, Any]) -> Callable[..., None]:
    """Build the command that asks a question: an option a parameter, in the order declared."""
    model = question.parameters

    def command(context: typer.Context, **told: Any) -> None:
        as_json, html = told.pop("as_json"), told.pop("html")
        words = pairs(told.pop("words", None) or [])
        _refuse_twice(model, words)
        given = {name: value for name, value in told.items() if value is not None} | words
        with open_named(context) as store:
            _need(question, store, given)
            try:
                with told_while_waiting(question.waiting):
                    answer = question.answer(store, question.parsed(given))
            except ParameterError as problem:
                raise typer.BadParameter(_as_options(model, problem)) from problem
        if html is not None:
            from logbook.report import write_answer  # late: not needed for --help

            write_answer(html, answer)
        if as_json:
            print_json(answer.as_json())
            return
        from logbook.cli.render import show_answer  # late: as above

        screen = console()
        show_answer(screen, answer)
        if html is not None:
            screen.print(f"\nThe page is in {html}", markup=False, soft_wrap=True)

    _sign(command, question)
    return plainly(command)


def _sign(command: Callable[..., None], question: Question[Any, Any]) -> None:
    """Give the command the signature from which its options are made."""
    model = question.parameters
    kinds: dict[str, Any] = {"context": typer.Context}
    if model.model_config.get("extra") == "allow":
        kinds["words"] = Words
    kinds |= {name: _option(model, name) for name in in_order(model)}
    kinds |= {"html": Html, "as_json": AsJson}
    defaults: dict[str, Any] = {"context": inspect.Parameter.empty, "as_json": False}
    command.__annotations__ = kinds
    command.__doc__ = question.help
    command.__name__ = question.name
    command.__signature__ = inspect.Signature(  # type: ignore[attr-defined]
        [
            inspect.Parameter(
                name, inspect.Parameter.KEYWORD_ONLY, default=defaults.get(name), annotation=kind
            )
            for name, kind in kinds.items()
        ]
    )


def _option(model: type[Parameters], name: str) -> Any:
    field = model.model_fields[name]
    return Annotated[
        str | None,
        typer.Option(
            _as_option(name),
            metavar=_metavar(model, name, field),
            help=f"{field.description}{_default_words(field)}",
        ),
    ]


def _default_words(field: FieldInfo) -> str:
    if field.is_required():
        return "  [required]"
    return "" if field.default in (None, PydanticUndefined) else f"  [default: {field.default}]"


def _metavar(model: type[Parameters], name: str, field: FieldInfo) -> str:
    if get_origin(field.annotation) is Literal:
        return "|".join(get_args(field.annotation))
    return metavar_of(model, name)


def _need(question: Question[Any, Any], store: Store, given: dict[str, Any]) -> None:
    """Where something must be chosen and is not, list what there is to choose from."""
    for name, field in question.parameters.model_fields.items():
        if not field.is_required() or name in given:
            continue
        offered = offered_of(question.parameters, name)
        choices = ", ".join(offered.choices(store)) if offered else ""
        says = f"name a {name} with {_as_option(name)}"
        raise typer.BadParameter(f"{says}: {choices}" if choices else says)


def _refuse_twice(model: type[Parameters], words: dict[str, Any]) -> None:
    if twice := set(model.model_fields) & set(words):
        raise typer.BadParameter(f"{sorted(twice)[0]} is an option: write it with --")


def _as_options(model: type[Parameters], problem: ParameterError) -> str:
    """Name parameters as the command line does."""
    says = [
        says.replace(name, _as_option(name), 1)
        if name in model.model_fields and says.startswith(name)
        else says
        for name, says in problem.reasons.items()
    ]
    said = "; ".join(each.rstrip(".") for each in says)
    return said if problem.hint in (None, MEND) else f"{said}. {problem.hint}"


def _as_option(name: str) -> str:
    return f"--{name.replace('_', '-')}"
