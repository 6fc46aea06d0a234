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
    from logbook.service.access.credentials import Credentials

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
    from logbook.service.access.credentials import write_credentials
    from logbook.service.access.passcodes import with_passcode, without_passcode

    folder, credentials = _credentials(context)
    if remove:
        write_credentials(folder, without_passcode(credentials, role.value))
        console().print(f"There is no passcode for {role.value}s any more.")
        return
    write_credentials(folder, with_passcode(credentials, role.value, _asked(role)))
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
    folder, credentials = _credentials(context)
    if action is TokenAction.LIST:
        _list(credentials, as_json=as_json)
    elif role is not None:
        _add(folder, credentials, str(name), role, as_json=as_json)
    else:
        _remove(folder, credentials, str(name), as_json=as_json)


def _add(
    folder: Path, credentials: Credentials, name: str, role: RoleName, *, as_json: bool
) -> None:
    from logbook.service.access.credentials import write_credentials
    from logbook.service.access.tokens import with_token

    changed, made = with_token(credentials, name, role.value)
    write_credentials(folder, changed)
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


def _remove(folder: Path, credentials: Credentials, name: str, *, as_json: bool) -> None:
    from logbook.service.access.credentials import write_credentials
    from logbook.service.access.tokens import without_token

    write_credentials(folder, without_token(credentials, name))
    if as_json:
        print_json({"removed": name, "notes": []})
    else:
        console().print(f"The token {name} is removed.", markup=False, soft_wrap=True)


def _list(credentials: Credentials, *, as_json: bool) -> None:
    if as_json:
        told = [
            {"name": e.name, "role": e.role, "added_at": e.added_at} for e in credentials.tokens
        ]
        print_json({"tokens": told, "notes": []})
        return
    screen = console()
    if not credentials.tokens:
        screen.print("There are no tokens.")
    for each in credentials.tokens:
        line = f"{each.name}  {each.role}  added {each.added_at[:10]}"
        screen.print(line, markup=False, soft_wrap=True)


def _credentials(context: typer.Context) -> tuple[Path, Credentials]:
    """The book's folder and who may come in; the book itself stays closed, or served."""
    from logbook.service.access.credentials import new_credentials, read_credentials
    from logbook.store import book_place
    from logbook.store.opening import FILE_NAME

    folder = Path(book_place(context.obj)).expanduser()
    if not (folder / FILE_NAME).exists():
        raise NoBook(
            f"There is no book at {folder}.",
            f"start one with: logbook new {folder}   (or name another with --book)",
        )
    found = read_credentials(folder)
    return folder, new_credentials() if found is None else found


def _asked(role: RoleName) -> str:
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    return str(
        typer.prompt(
            f"Passcode for {role.value}s", hide_input=True, confirmation_prompt="The same again"
        )
    )
