"""Commands that look for causes in the record: factors."""

from __future__ import annotations

from typing import Annotated

import typer

from logbook.cli.options import AsJson, Since, Site, Until, kind_named, open_named, window
from logbook.cli.terminal import console, plainly, print_json

# Everything heavier than typer is imported inside the commands, so that --help answers at once.


@plainly
def factors(
    context: typer.Context,
    defect: Annotated[
        str | None,
        typer.Option("--defect", metavar="KIND|any", help="Such as puckering; without, a list."),
    ] = None,
    since: Since = None,
    until: Until = None,
    site: Site = None,
    as_json: AsJson = False,
) -> None:
    """Find which setup factors go with a defect, on like jobs."""
    from logbook.cli.causing import show_factors
    from logbook.questions.factors.asking import which_factors

    with open_named(context) as store:
        result = which_factors(
            store,
            kind=kind_named(store, defect, any_allowed=True),
            window=window(since, until, site),
        )
        if as_json:
            print_json(result.as_json())
        else:
            show_factors(console(), result, store.shop)
