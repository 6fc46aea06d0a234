"""Needles: points and sizes, with the trade's double naming understood."""

from __future__ import annotations

import re
from collections.abc import Mapping

from logbook.vocabulary.choices import Choice, ChoiceList, normalise

NEEDLE_POINTS = ChoiceList(
    column="needle_point",
    label="Needle point",
    choices=(
        Choice("sharp", "Sharp", "for wovens, caps and coated goods", "s, sharps, sharp point"),
        Choice(
            "light_ball",
            "Light ball point",
            "for knits; “ball point” without a grade is read as this, the usual one",
            "bp, ball, ball point, ballpoint, light ballpoint, light bp, ses",
        ),
        Choice(
            "medium_ball",
            "Medium ball point",
            "for coarse or very stretchy knits",
            "medium ballpoint, medium bp, med ball, med ball point, suk",
        ),
    ),
)

# Metric size (hundredths of a millimetre of blade) and the number that stands beside it on the
# packet.
NEEDLE_SIZES_NM: Mapping[int, int] = {
    55: 7,
    60: 8,
    65: 9,
    70: 10,
    75: 11,
    80: 12,
    85: 13,
    90: 14,
    100: 16,
    110: 18,
    120: 19,
}
_SMALLEST_NM, _LARGEST_NM = 55, 120
_NUMBERED_NM = {number: metric for metric, number in NEEDLE_SIZES_NM.items()}
_SIZE = re.compile(
    r"(?:(?:nm|size|no|needle)[.:]? ?)*#?(\d{1,3})(?:\.0+)?(?: (\d{1,3}))?(?: (\D+))?"
)


def needle_size_nm(text: str) -> int | None:
    """Read a needle size as the trade writes it.

    Parameters
    ----------
    text
        ``75/11``, ``75``, ``11/75``, ``#11``, ``Nm 75``, or one of these with the point behind
        it, as ``75/11 BP``.

    Returns
    -------
    int or None
        The metric size, in hundredths of a millimetre, 55 to 120. None where the text is not a
        size, or where its two numbers contradict each other.
    """
    found = _SIZE.fullmatch(normalise(text))
    if found is None:
        return None
    first, second, point = found.groups()
    if point is not None and NEEDLE_POINTS.understand(point) is None:
        return None
    if second is None:
        return _one_number(int(first))
    metric, number = max(int(first), int(second)), min(int(first), int(second))
    return metric if NEEDLE_SIZES_NM.get(metric) == number else None


def _one_number(size: int) -> int | None:
    if _SMALLEST_NM <= size <= _LARGEST_NM:
        return size
    return _NUMBERED_NM.get(size)
