"""How figures are said: the same digits and units in every sentence of every result."""

from __future__ import annotations

import math
from collections.abc import Sequence
from difflib import get_close_matches
from typing import Literal

PER_STITCHES = 100_000
"""Event rates are said per so many stitches; a rate per stitch has too many zeros to read."""

MINUS = "\N{MINUS SIGN}"
_UNKNOWN = "not known"


def number(n: float) -> str:
    """Say a count: ``1,204``; parts of a piece, as costs are allotted in, as ``2.5``."""
    if not math.isfinite(n):
        return _UNKNOWN
    if float(n).is_integer() or abs(n) >= 100:
        return f"{round(n):,}"
    return f"{n:.1f}"


def so_many(count: int, thing: str) -> str:
    """Say how many there are of a thing: ``1 run``, ``1,204 runs``."""
    return f"{number(count)} {thing}{'' if count == 1 else 's'}"


def percent(rate: float, digits: int | None = None) -> str:
    """Say a fraction as a percentage: ``3.4 %``, ``0.08 %``.

    Parameters
    ----------
    rate
        A fraction, 0.034 for 3.4 %; NaN is said to be not known.
    digits
        Decimals; None for one, and more where the rate is so small that one would hide it.
    """
    if not math.isfinite(rate):
        return _UNKNOWN
    return f"{_rounded(rate * 100, _decimals(rate * 100) if digits is None else digits)} %"


def percent_interval(interval: tuple[float, float]) -> str:
    """Say an interval of fractions, both ends with the same decimals: ``2.5 to 4.6 %``."""
    lower, upper = (bound * 100 for bound in interval)
    return _range(lower, upper, unit=" %")


def points(difference: float) -> str:
    """Say a difference of two fractions in percentage points: ``1.2 points``."""
    if not math.isfinite(difference):
        return _UNKNOWN
    return f"{_rounded(difference * 100, _decimals(difference * 100))} points"


def per_100k(rate: float) -> str:
    """Say an event rate, given per stitch: ``3.1 per 100,000 stitches``."""
    if not math.isfinite(rate):
        return _UNKNOWN
    scaled = rate * PER_STITCHES
    return f"{_rounded(scaled, _decimals(scaled))} per {PER_STITCHES:,} stitches"


def times(ratio: float) -> str:
    """Say a ratio: ``1.58 times``, ``0.69 times``, ``12 times``."""
    return f"{_ratio(ratio)} times" if math.isfinite(ratio) else _UNKNOWN


def times_interval(interval: tuple[float, float]) -> str:
    """Say an interval of ratios: ``1.23 to 2.0``."""
    lower, upper = interval
    if not (math.isfinite(lower) and math.isfinite(upper)):
        return _UNKNOWN
    return f"{_ratio(lower)} to {_ratio(upper)}"


def money(amount: float, currency: str) -> str:
    """Say an amount with its currency: ``EUR 41.20``, ``−EUR 0.72``.

    The sign is a minus sign: a line may end after a hyphen, and would part it from its amount.
    """
    if not math.isfinite(amount):
        return _UNKNOWN
    cents = round(amount, 2)
    return f"{MINUS if cents < 0 else ''}{currency} {abs(cents):,.2f}"


def rate_only(measure: Literal["pieces", "events"], rate: float) -> str:
    """Say a rate in the unit of its measure: ``3.4 %`` or ``3.1 per 100,000 stitches``."""
    return percent(rate) if measure == "pieces" else per_100k(rate)


def interval_words(measure: Literal["pieces", "events"], interval: tuple[float, float]) -> str:
    """Say an interval in the unit of its measure: ``2.5 to 4.6 %``, per 100,000 ``1.8 to 5.0``."""
    if measure == "pieces":
        return percent_interval(interval)
    lower, upper = (bound * PER_STITCHES for bound in interval)
    return _range(lower, upper, unit="")


def exposure_words(measure: Literal["pieces", "events"], exposure: float) -> str:
    """Say what was at risk: ``8,120 pieces inspected``, ``541,000 stitches sewn``."""
    return f"{number(exposure)} {'pieces inspected' if measure == 'pieces' else 'stitches sewn'}"


def rate_of(label: str) -> str:
    """Name the rate of a kind of defect within a sentence: ``rate of puckering``."""
    return f"rate of {label[0].lower()}{label[1:]}"


def count_words(measure: Literal["pieces", "events"], count: float, exposure: float) -> str:
    """Say what was counted in what: ``41 of 1,204 pieces inspected``, ``17 in 541,000 …``."""
    if measure == "pieces":
        whole = f"{number(count)} of {number(exposure)} pieces inspected"
        return whole if exposure > 0 else "no pieces inspected"
    whole = f"{number(count)} in {number(exposure)} stitches sewn"
    return whole if exposure > 0 else "no stitches sewn"


def rate_words(
    measure: Literal["pieces", "events"],
    count: float,
    exposure: float,
    rate: float,
    interval: tuple[float, float],
    *,
    level: float = 0.95,
) -> str:
    """Say a rate with what it rests on and how sure it is.

    Parameters
    ----------
    measure
        ``pieces`` or ``events``.
    count, exposure
        Pieces that show it and pieces inspected, or events and stitches sewn.
    rate, interval
        Per piece or per stitch, the interval at ``level``.
    level
        Confidence level of the interval.

    Returns
    -------
    str
        ``41 of 1,204 pieces inspected (3.4 %, 95 % interval 2.5 to 4.6 %)`` or ``17 in
        541,000 stitches sewn (3.1 per 100,000 stitches, 95 % interval 1.8 to 5.0)``.
    """
    if not exposure > 0:
        return count_words(measure, count, exposure)
    base, doubt = count_words(measure, count, exposure), interval_words(measure, interval)
    return f"{base} ({rate_only(measure, rate)}, {percent(level, 0)} interval {doubt})"


def json_number(x: float | None) -> float | None:
    """Return a plain float, or None where the number cannot be said (absent, NaN, infinite)."""
    if x is None or not math.isfinite(x):
        return None
    return float(x)


def meant_by(asked: str, known: Sequence[str]) -> str | None:
    """Guess which known name was meant: one that is nearly alike, else one that holds it."""
    near = get_close_matches(asked.casefold(), [name.casefold() for name in known], n=1)
    alike = [name for name in known if near and name.casefold() == near[0]]
    within = [name for name in known if asked.strip() and asked.casefold() in name.casefold()]
    return next(iter((*alike, *within)), None)


def json_interval(interval: tuple[float, float]) -> list[float] | None:
    """Return both bounds as plain floats, or None where one of them cannot be said."""
    lower, upper = interval
    return [float(lower), float(upper)] if math.isfinite(lower) and math.isfinite(upper) else None


def in_hundred(chance: float) -> str:
    """Say a chance: ``87 in 100``; never certain, and rounded down so as to promise no more."""
    return f"{math.floor(100 * min(max(chance, 0.01), 0.99) + 1e-9)} in 100"


def _ratio(ratio: float) -> str:
    """Two decimals below 2, where they matter; from below it, never rounded to 1."""
    if ratio < 0.01:
        return "under 0.01"
    if 0.995 <= ratio < 1:
        return f"{math.floor(ratio * 1000) / 1000:.3f}"
    decimals = 2 if ratio < 1.995 else 1 if ratio < 9.95 else 0
    return f"{ratio:,.{decimals}f}"


def _decimals(value: float) -> int:
    """Return how many decimals to show: one from 1 up, two from 0.01 up, below it two figures."""
    size = abs(value)
    if size == 0:
        return 0
    if size >= 0.01:
        # 0.996 is said as 1.0.
        return 1 if size >= 0.995 else 2
    return min(1 - math.floor(math.log10(size)), 6)


def _rounded(value: float, decimals: int) -> str:
    said = f"{value:,.{decimals}f}"
    return said.removeprefix("-") if not said.strip("-0.,") else said


def _range(lower: float, upper: float, *, unit: str) -> str:
    if not (math.isfinite(lower) and math.isfinite(upper)):
        return _UNKNOWN
    decimals = _decimals(max(abs(lower), abs(upper)))
    return f"{_rounded(lower, decimals)} to {_rounded(upper, decimals)}{unit}"
