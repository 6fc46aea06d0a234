"""What is said of where defects lie: the clearest leaning, or that there is none."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.wording import number, percent, percent_interval

if TYPE_CHECKING:
    from logbook.questions.places.result import KindPlaces, PlacesResult

FEWEST_RUNS = 6
"""With five runs even five alike could be chance: 2 / 2^5 is more than 5 %."""
MOSTLY = 0.5
"""From this share of the marks on, a kind is said to sit there."""


def title(result: PlacesResult) -> str:
    """Say on which design."""
    return f"where defects sit on {result.design}"


def headline(result: PlacesResult) -> str:
    """The clearest leaning, or that there is none."""
    if result.kinds[0].even:
        return (
            f"{result.design} is about as dense everywhere: where its defects sit cannot tell "
            "whether density is the cause."
        )
    leaning = [each for each in result.kinds if each.leans]
    if leaning:
        return kind_said(leaning[0])
    if all(each.leans is None for each in result.kinds):
        return kind_said(result.kinds[0])
    return f"No kind leans to dense places of this design. {kind_said(result.kinds[0])}"


def pressing(result: PlacesResult) -> tuple[str, ...]:
    """Nothing of it misleads beside the headline."""
    del result
    return ()


def sentences(result: PlacesResult) -> tuple[str, ...]:
    """Each kind, and how sure that is."""
    return tuple(map(kind_said, result.kinds))


def notes(result: PlacesResult) -> tuple[str, ...]:
    """How exact places are, and what else is where a design is dense."""
    said = [
        "A tap is a thumb wide: places are good to some millimetres.",
    ]
    if any(each.leans for each in result.kinds):
        said.append(
            "Dense places are also where outlines, small letters and layers meet: open the "
            "density there in a trial before taking it for the cause."
        )
    return tuple(said)


def kind_said(each: KindPlaces) -> str:
    """Where the marks sit, with what that rests on."""
    fit = each.fit
    doubt = percent_interval((fit.top_lower, fit.top_upper))
    runs = "1 run" if fit.groups == 1 else f"{number(fit.groups)} runs"
    marks = "1 mark" if fit.marks == 1 else f"{number(fit.marks)} marks"
    figures = (
        f"{percent(fit.top_share, 0)} of {marks} from {runs} ({doubt}) in the densest "
        f"places, which hold {percent(fit.top, 0)} of the stitches"
    )
    if each.even:
        return f"{each.label}: {figures}; the rest is about as dense, so that tells nothing."
    if each.leans is None:
        return (
            f"{each.label}: {figures}; too early to say, from {FEWEST_RUNS} runs on it can be told."
        )
    if not each.leans:
        return f"{each.label} shows no leaning to dense places: {figures}."
    if fit.top_lower > fit.top:
        how = "sits in" if fit.top_share >= MOSTLY else "leans to"
        return f"{each.label} {how} the densest tenth of this design: {figures}."
    return f"{each.label} sits in the denser parts of this design: {figures}."
