"""Commands that ask the record: review."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from logbook.cli.options import AsJson, Site, open_named
from logbook.cli.terminal import console, plainly, print_json

# Everything heavier than typer is imported inside the commands, so that --help answers at once.


@plainly
def review(
    context: typer.Context,
    week: Annotated[
        str | None,
        typer.Option("--week", metavar="WEEK", help="Such as 2026-W40; else the last with runs."),
    ] = None,
    html: Annotated[
        Path | None,
        typer.Option("--html", metavar="FILE", help="Also write the review as one page."),
    ] = None,
    site: Site = None,
    as_json: AsJson = False,
) -> None:
    """Review a week's defects: how much, more than usual or luck, what cost most."""
    from logbook.cli.reviewing import show_review
    from logbook.questions.asking import review_charts, weekly_review

    with open_named(context) as store:
        result = weekly_review(store, week=week, site=site)
        if html is not None:
            from logbook.report import write_review

            write_review(html, result, review_charts(store, result, site=site), store.shop)
        if as_json:
            print_json(result.as_json())
            return
        screen = console()
        show_review(screen, result, store.shop)
        if html is not None:
            screen.print(f"\nThe page is in {html}", markup=False, soft_wrap=True)
