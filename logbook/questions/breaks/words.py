"""What is said of breaks by place: the clearest pattern, and what to look at first."""

from __future__ import annotations

from logbook.questions.breaks.result import BreaksResult, Gathered
from logbook.vocabulary.break_places import SOURCE
from logbook.wording import number, percent, percent_interval


def title(result: BreaksResult) -> str:
    """Say of what machines or designs."""
    subjects = list(dict.fromkeys(each.tally.subject for each in result.judged))
    return "where threads break" + (f": {subjects[0]}" if len(subjects) == 1 else "")


def headline(result: BreaksResult) -> str:
    """Name the clearest pattern and what to look at first; or say that there is none."""
    if not result.standing_out:
        kinds = list(dict.fromkeys(f"{each.kind.label}s" for each in result.judged))
        most = max(result.judged, key=lambda each: each.breaks)
        return (
            f"No gathering beyond chance by {' or '.join(kinds)}, as far as places are "
            f"written down ({number(most.breaks)} breaks in {number(most.tally.runs)} runs at "
            "most). Look at thread, needle size, speed and backing for all of them."
        )
    first = result.standing_out[0]
    return f"{gathering_said(first)} Look there first: {first.kind.first_checks[0]}."


def pressing(result: BreaksResult) -> tuple[str, ...]:
    """Nothing of it misleads beside the headline."""
    del result
    return ()


def sentences(result: BreaksResult) -> tuple[str, ...]:
    """Every other pattern beyond chance, each with what to look at first."""
    return tuple(
        "\n".join((gathering_said(each), *each.kind.first_checks))
        for each in result.standing_out[1:]
    )


def notes(result: BreaksResult) -> tuple[str, ...]:
    """What bends the shares, and what to mind at the machine."""
    judged, said = result.judged, []
    for subject in dict.fromkeys(each.tally.subject for each in judged):
        its = [each for each in judged if each.tally.subject == subject]
        best = max(its, key=lambda each: each.breaks)
        if best.tally.unsaid > best.breaks:
            said.append(
                f"Most breaks of {subject} have no place written down; if only odd ones are "
                "noted, the shares are bent by that."
            )
    if any(each.stands_out for each in judged):
        said.append(
            f"What to look at first is {SOURCE}. Stop the machine before reaching to needles or "
            "thread, and follow its maker's instructions."
        )
    return tuple(said)


def gathering_said(each: Gathered) -> str:
    """The place furthest above its share, with what it rests on."""
    at = each.fit.largest
    count, label = each.tally.counts[at], each.tally.labels[at]
    doubt = percent_interval((float(each.fit.lower[at]), float(each.fit.upper[at])))
    expected = percent(float(each.fit.expected_share[at]), 0)
    figures = (
        f"{number(count)} of {number(each.breaks)} breaks of {each.tally.subject} from "
        f"{number(each.tally.runs)} runs ({percent(each.share, 0)}, {doubt}) came at "
        f"{each.kind.label} {label}, which sewed {expected} of the stitches"
    )
    if not each.stands_out:
        return f"{figures}: no more than chance would bring."
    label = each.kind.label
    lead = f"Mostly one {label}" if each.mostly else f"One {label} takes more than its share"
    return f"{lead}: {figures}. It points to {each.kind.cause}."
