"""The command about what weekly reviews decide on."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.options import AsJson, open_named
from logbook.cli.terminal import console, plainly, print_json

if TYPE_CHECKING:
    from logbook.runs.actions import KeptAction, State
    from logbook.store import Store

# Everything heavier than typer is imported inside the commands, so that --help answers at once.

SOURCE = "command line"


class Step(StrEnum):
    """What to do about an action."""

    ADD = "add"
    DONE = "done"
    DROP = "drop"
    LIST = "list"


@plainly
def action(
    context: typer.Context,
    step: Annotated[Step, typer.Argument(help="What to do about an action.")],
    text: Annotated[
        str | None,
        typer.Argument(metavar="TEXT|REF", help="add: what is to be done; done, drop: which."),
    ] = None,
    week: Annotated[
        str | None,
        typer.Option("--week", metavar="WEEK", help="Week reviewed; else the last with runs."),
    ] = None,
    kind: Annotated[
        str | None,
        typer.Option("--kind", metavar="KIND|any", help="Defect whose rate is to fall."),
    ] = None,
    who: Annotated[str | None, typer.Option("--who", help="Who does it.")] = None,
    due: Annotated[
        str | None, typer.Option("--due", metavar="WEEK", help="Done by the end of that week.")
    ] = None,
    machine: Annotated[str | None, typer.Option("--machine", help="One machine only.")] = None,
    fabric: Annotated[str | None, typer.Option("--fabric", help="One fabric only.")] = None,
    backing: Annotated[str | None, typer.Option("--backing", help="One backing only.")] = None,
    supplier: Annotated[
        str | None, typer.Option("--supplier", help="One backing supplier only.")
    ] = None,
    design: Annotated[str | None, typer.Option("--design", help="One design only.")] = None,
    on: Annotated[
        str | None,
        typer.Option("--on", metavar="DATE", help="Day on which it was done or dropped; else now."),
    ] = None,
    why: Annotated[
        str | None, typer.Option("--why", help="What is to be said of it; drop needs it.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Write down what the weekly review decided on, and what became of it.

    Once an action against a kind of defect is done, review compares the rate before with the
    rate since.
    """
    if (step is Step.LIST) == (text is not None):
        raise typer.BadParameter("list takes no TEXT" if text else f"{step} needs TEXT or REF")
    told = {
        "what": text, "by": who, "due": due, "kind": kind, "machine": machine, "fabric": fabric,
        "backing": backing, "backing_supplier": supplier, "design": design,
    }  # fmt: skip
    with open_named(context) as store:
        if step is Step.LIST:
            _list(store, as_json=as_json)
            return
        if step is Step.ADD:
            kept = _added(store, told, week)
        else:
            state: State = "done" if step is Step.DONE else "dropped"
            kept = _ended(store, str(text), state, why, on)
        if as_json:
            print_json({**_told(kept), "notes": []})
        else:
            _say(store, kept)


def _added(store: Store, told: dict[str, str | None], week: str | None) -> KeptAction:
    from logbook.book.actions import write_action
    from logbook.book.weeks import last_week
    from logbook.runs.actions import action_from

    told = told | {"decided": week or last_week(store)}
    return write_action(store, action_from(told), source=SOURCE)


def _ended(store: Store, ref: str, state: State, why: str | None, on: str | None) -> KeptAction:
    from logbook.book.actions import action_named, end_action

    try:
        day = None if on is None else date.fromisoformat(on)
    except ValueError as cause:
        raise typer.BadParameter(f"--on {on!r} is not a date such as 2026-09-01") from cause
    seen = action_named(store, ref)
    return end_action(store, seen, state=state, why=why, source=SOURCE, on=day)


def _list(store: Store, *, as_json: bool) -> None:
    from logbook.book.actions import actions

    found = actions(store)
    if as_json:
        print_json({"actions": [_told(each) for each in found], "notes": []})
    elif not found:
        console().print("No action is written down.")
    for each in () if as_json else found:
        _say(store, each)


def _told(kept: KeptAction) -> dict[str, object]:
    return {"action": kept.ref, **kept.action.plain()}


def _say(store: Store, kept: KeptAction) -> None:
    labels = {each.name: each.label.lower() for each in store.shop.kinds}
    told, kind = kept.action, kept.action.kind
    more = [
        *([f"by {told.by}"] if told.by else []),
        *([f"due by the end of {told.due}"] if told.due else []),
        *([f"against {labels.get(kind, kind)}"] if kind else []),
    ]
    line = f"{kept.ref}  {told.state}  {', '.join([told.what, *more])}"
    console().print(line, markup=False, soft_wrap=True)
