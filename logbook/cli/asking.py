"""Commands that ask the record: review, suppliers."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from logbook.cli.options import AsJson, Since, Site, Until, amount, kind_named, open_named, window
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


@plainly
def suppliers(
    context: typer.Context,
    defect: Annotated[
        str, typer.Option("--defect", metavar="KIND|any", help="Such as puckering, or any.")
    ] = "any",
    backing: Annotated[
        str | None, typer.Option("--backing", metavar="TYPE", help="One backing type only.")
    ] = None,
    reference: Annotated[
        str | None,
        typer.Option("--reference", metavar="NAME", help="Supplier to compare the others with."),
    ] = None,
    margin: Annotated[
        float | None,
        typer.Option(
            "--margin",
            metavar="PP",
            parser=amount,
            help="Difference in 100 pieces that does not matter.",
        ),
    ] = None,
    since: Since = None,
    until: Until = None,
    site: Site = None,
    as_json: AsJson = False,
) -> None:
    """Compare backing suppliers by defect rate, like for like, and by cost."""
    from logbook.cli.comparing import show_suppliers
    from logbook.questions.asking import compare_suppliers

    with open_named(context) as store:
        result = compare_suppliers(
            store,
            kind=kind_named(store, defect, any_allowed=True),
            backing=_backing(backing),
            reference=reference,
            margin=None if margin is None else margin / 100,
            window=window(since, until, site),
        )
        if as_json:
            print_json(result.as_json())
        else:
            show_suppliers(console(), result, store.shop)


def _backing(text: str | None) -> str | None:
    if text is None:
        return None
    from logbook.vocabulary.backings import BACKINGS

    value = BACKINGS.understand(text)
    if value is None:
        raise typer.BadParameter(
            f"--backing {text!r} is not known; the backings are {', '.join(BACKINGS.values)}"
        )
    return value
