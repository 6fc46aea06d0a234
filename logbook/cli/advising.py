"""The command that advises on a setup."""

from __future__ import annotations

from typing import Annotated

import typer

from logbook.cli.options import AsJson, Since, Site, Until, amount, open_named, pairs, window
from logbook.cli.terminal import console, plainly, print_json

# Everything heavier than typer is imported inside the commands, so that --help answers at once.


@plainly
def advise(
    context: typer.Context,
    fabric: Annotated[str, typer.Option("--fabric", metavar="F", help="As named in the book.")],
    setup: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[KEY=VALUE]…",
            help="Parts of the setup now, such as topping=none; the rest is the usual one.",
        ),
    ] = None,
    design: Annotated[
        str | None, typer.Option("--design", metavar="D", help="A design that is in the book.")
    ] = None,
    density: Annotated[
        float | None,
        typer.Option(
            "--density",
            metavar="X",
            parser=amount,
            help="Stitches/mm² of the densest square centimetre, where there is no design.",
        ),
    ] = None,
    fabric_shade: Annotated[
        str | None, typer.Option("--fabric-shade", metavar="S", help="light, mid or dark.")
    ] = None,
    since: Since = None,
    until: Until = None,
    site: Site = None,
    as_json: AsJson = False,
) -> None:
    """Suggest setup changes for a job, by the shop's own record."""
    from logbook.cli.suggesting import show_advice
    from logbook.errors import RecordError
    from logbook.questions.advice.asking import advise as advise_on

    if design is not None and density is not None:
        raise typer.BadParameter("give --design or --density, not both")
    told = pairs(setup or [])
    if twice := {"fabric", "design", "density", "fabric_shade"} & set(told):
        raise typer.BadParameter(f"{sorted(twice)[0]} is an option: write it with --")
    with open_named(context) as store:
        try:
            result = advise_on(
                store,
                fabric=fabric,
                design=design,
                density=density,
                fabric_shade=fabric_shade,
                setup=told,
                window=window(since, until, site),
            )
        except RecordError as problem:
            says = "; ".join(problem.reasons.values()) or problem.message
            raise typer.BadParameter(says) from problem
        if as_json:
            print_json(result.as_json())
        else:
            show_advice(console(), result, store.shop)
