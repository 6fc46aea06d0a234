"""The command that serves the pages."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from logbook.cli.terminal import plainly


class LogStyle(StrEnum):
    """How the service's own lines are written."""

    PLAIN = "plain"
    JSON = "json"


@plainly
def serve(
    context: typer.Context,
    host: Annotated[
        str,
        typer.Option(
            "--host",
            metavar="ADDRESS",
            help="Address to listen on; 0.0.0.0 for all. Others need passcodes to be set.",
        ),
    ] = "127.0.0.1",
    port: Annotated[
        int, typer.Option("--port", min=1, max=65535, help="Port to listen on.")
    ] = 8750,
    names: Annotated[
        list[str] | None,
        typer.Option(
            "--name", metavar="NAME", help="Name that browsers ask for it by; may be repeated."
        ),
    ] = None,
    proxies: Annotated[
        list[str] | None,
        typer.Option(
            "--proxy",
            metavar="ADDRESS",
            help="Address of a reverse proxy to believe; may be repeated.",
        ),
    ] = None,
    log: Annotated[
        LogStyle, typer.Option("--log", help="Lines on standard error: plain or JSON.")
    ] = LogStyle.PLAIN,
) -> None:
    """Serve the entry form and the pages of a book."""
    from logbook.store import book_place

    place = book_place(context.obj)
    if log is LogStyle.PLAIN and "://" not in place:
        # Before what takes seconds to load.
        typer.echo(f"Opening the book at {place} …", err=True)
    from logbook.service import run as run_service

    run_service(
        place,
        host=host,
        port=port,
        names=tuple(names or ()),
        proxies=tuple(proxies or ()),
        log=log.value,
    )
