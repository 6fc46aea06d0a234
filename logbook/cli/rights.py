"""Commands that say who may come in: passcodes for people, tokens for programs."""

from __future__ import annotations

import sys
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from logbook.cli.options import AsJson
from logbook.cli.terminal import console, plainly, print_json
from logbook.errors import NoBook

if TYPE_CHECKING:
    from logbook.service.passcodes import Rights

# Everything heavier than typer is imported inside the commands, so that --help answers at once.


class RoleName(StrEnum):
    """What a passcode or token allows."""

    OPERATOR = "operator"
    REVIEWER = "reviewer"


class TokenAction(StrEnum):
    """What to do about tokens."""

    ADD = "add"
    LIST = "list"
    REMOVE = "remove"


@plainly
def passcode(
    context: typer.Context,
    role: Annotated[RoleName, typer.Argument(help="Whose passcode to set.")],
    remove: Annotated[
        bool, typer.Option("--remove", help="Take it away; nobody can sign in with it.")
    ] = False,
) -> None:
    """Set a shared passcode: operators log runs and see pages, reviewers also correct.

    It is asked for twice and not shown, or read as one line of standard input. Whoever signed in
    with the earlier one has to sign in again. A running service takes it up at once.
    """
    from logbook.service.passcodes import with_passcode, without_passcode, write_rights

    folder, rights = _rights(context)
    if remove:
        write_rights(folder, without_passcode(rights, role.value))
        console().print(f"There is no passcode for {role.value}s any more.")
        return
    write_rights(folder, with_passcode(rights, role.value, _asked(role)))
    console().print(
        f"The passcode for {role.value}s is set. Only a hash of it is kept; write it down where "
        "the shop keeps its keys.",
        soft_wrap=True,
    )


@plainly
def token(
    context: typer.Context,
    action: Annotated[TokenAction, typer.Argument(help="What to do.")],
    name: Annotated[
        str | None, typer.Argument(metavar="NAME", help="Which token; not for list.")
    ] = None,
    role: Annotated[
        RoleName | None, typer.Option("--role", help="What a new token allows.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Add, list or remove tokens, by which programs use the HTTP API.

    A new token is shown once; only a hash of it is kept.
    """
    if (action is TokenAction.LIST) == (name is not None):
        raise typer.BadParameter("list takes no NAME" if name else f"{action} needs a NAME")
    if (action is TokenAction.ADD) != (role is not None):
        raise typer.BadParameter("add needs --role, list and remove take none")
    folder, rights = _rights(context)
    if action is TokenAction.LIST:
        _list(rights, as_json=as_json)
    elif role is not None:
        _add(folder, rights, str(name), role, as_json=as_json)
    else:
        _remove(folder, rights, str(name), as_json=as_json)


def _add(folder: Path, rights: Rights, name: str, role: RoleName, *, as_json: bool) -> None:
    from logbook.service.passcodes import with_token, write_rights

    changed, made = with_token(rights, name, role.value)
    write_rights(folder, changed)
    if as_json:
        print_json({"name": name, "role": role.value, "token": made, "notes": []})
        return
    sys.stdout.write(made + "\n")
    console(stderr=True).print(
        f"This token is shown once and kept nowhere. {name} sends it as: "
        "Authorization: Bearer TOKEN",
        markup=False,
        soft_wrap=True,
    )


def _remove(folder: Path, rights: Rights, name: str, *, as_json: bool) -> None:
    from logbook.service.passcodes import without_token, write_rights

    write_rights(folder, without_token(rights, name))
    if as_json:
        print_json({"removed": name, "notes": []})
    else:
        console().print(f"The token {name} is removed.", markup=False, soft_wrap=True)


def _list(rights: Rights, *, as_json: bool) -> None:
    if as_json:
        told = [{"name": e.name, "role": e.role, "added_at": e.added_at} for e in rights.tokens]
        print_json({"tokens": told, "notes": []})
        return
    screen = console()
    if not rights.tokens:
        screen.print("There are no tokens.")
    for each in rights.tokens:
        line = f"{each.name}  {each.role}  added {each.added_at[:10]}"
        screen.print(line, markup=False, soft_wrap=True)


def _rights(context: typer.Context) -> tuple[Path, Rights]:
    """The book's folder and who may come in; the book itself stays closed, or served."""
    from logbook.service.passcodes import new_rights, read_rights
    from logbook.store import book_place
    from logbook.store.opening import FILE_NAME

    folder = Path(book_place(context.obj)).expanduser()
    if not (folder / FILE_NAME).exists():
        raise NoBook(
            f"There is no book at {folder}.",
            f"start one with: logbook new {folder}   (or name another with --book)",
        )
    found = read_rights(folder)
    return folder, new_rights() if found is None else found


def _asked(role: RoleName) -> str:
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    return str(
        typer.prompt(
            f"Passcode for {role.value}s", hide_input=True, confirmation_prompt="The same again"
        )
    )
