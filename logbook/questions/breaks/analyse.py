"""Whether breaks fall on one head, one needle, one colour or one part of the file."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from logbook.errors import TooLittleData
from logbook.kernels.event_shares import against_expected
from logbook.kernels.multiplicity import holm
from logbook.questions.breaks.result import BreaksResult, Gathered, Tally
from logbook.vocabulary.break_places import break_place

FEWEST = 5
"""Breaks of which a place is known: with fewer no pattern can be told from chance."""
FEWEST_RUNS = 3
"""One run with a bad cone or a bent needle is no pattern yet."""
ALPHA = 0.05


def analyse(tallies: Sequence[Tally]) -> BreaksResult:
    """Judge breaks by place against the stitches that each place sewed.

    Parameters
    ----------
    tallies
        One for each machine's heads and needles, and each design's colours and parts.

    Returns
    -------
    BreaksResult
        The clearest pattern first. A multinomial test of each tally (see
        :func:`logbook.kernels.event_shares.against_expected`), Holm's correction over the tallies:
        Holm (1979), Scandinavian Journal of Statistics 6:65-70.

    Raises
    ------
    TooLittleData
        Nobody wrote down where enough breaks happened.
    """
    able = [each for each in tallies if _can_be_judged(each)]
    too_few = tuple(each for each in tallies if each not in able)
    if not able:
        got = max((sum(each.counts) for each in tallies), default=0)
        raise TooLittleData(
            f"Where breaks happened is written down for {got} of them at most; {FEWEST} from "
            f"{FEWEST_RUNS} runs of one machine or design are needed.",
            "note the head, the needle, the colour or the stitch number when a thread breaks",
            needed=FEWEST,
            got=got,
            unit="breaks with a place",
        )
    fits = [against_expected(count=np.array(each.by_run), work=each.stitches) for each in able]
    adjusted = holm(p_values=[fit.largest_p for fit in fits]).tolist()
    judged = [
        Gathered(tally, break_place(tally.gathering), fit, p_value, p_value <= ALPHA)
        for tally, fit, p_value in zip(able, fits, adjusted, strict=True)
    ]
    judged.sort(key=lambda each: (each.p_value, -each.share))
    return BreaksResult(tuple(judged), too_few)


def _can_be_judged(tally: Tally) -> bool:
    enough = sum(tally.counts) >= FEWEST and tally.runs >= FEWEST_RUNS
    return enough and sum(each > 0 for each in tally.stitches) > 1
