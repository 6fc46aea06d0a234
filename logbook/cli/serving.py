"""The command that serves the pages."""

from __future__ import annotations

from typing import Annotated

import typer

from logbook.cli.terminal import plainly


@plainly
def serve(
    context: typer.Context,
    host: Annotated[
        str, typer.Option("--host", metavar="ADDRESS", help="Address to listen on.")
    ] = "127.0.0.1",
    port: Annotated[
        int, typer.Option("--port", min=1, max=65535, help="Port to listen on.")
    ] = 8750,
) -> None:
    """Serve the entry form and the pages of a book."""
    from logbook.service import run as run_service  # late: heavy, not needed for --help
    from logbook.store import book_place

    run_service(book_place(context.obj), host=host, port=port)
