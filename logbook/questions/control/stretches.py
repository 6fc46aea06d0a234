"""Signals of a control chart told as stretches: what goes on for five weeks is said once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

Direction: TypeAlias = Literal["above", "below"]


@dataclass(frozen=True, slots=True)
class Signal:
    """One rule that one point completes, and the sentence for it."""

    label: str
    rule: str
    direction: Direction
    says: str


def told_together(signals: Sequence[Signal], labels: Sequence[str], by: str) -> tuple[str, ...]:
    """Say signals of one rule at points that follow one another in one sentence.

    Parameters
    ----------
    signals
        In order of time.
    labels
        Of all points of the chart, in order of time.
    by
        What a point is.

    Returns
    -------
    tuple of str
        In the order in which stretches end. A point beyond the limits is said by itself, since
        its figures are its own; the last of so many in a row says how many they are.
    """
    place = {label: number for number, label in enumerate(labels)}
    stretches: list[list[Signal]] = []
    for signal in signals:
        for stretch in stretches:
            if _goes_on(stretch[-1], signal, place):
                stretch.append(signal)
                break
        else:
            stretches.append([signal])
    stretches.sort(key=lambda stretch: place[stretch[-1].label])
    return tuple(_says(stretch, by) for stretch in stretches)


def _goes_on(last: Signal, signal: Signal, place: dict[str, int]) -> bool:
    return (
        signal.rule != "beyond_limits"
        and (last.rule, last.direction) == (signal.rule, signal.direction)
        and place[signal.label] == place[last.label] + 1
    )


def _says(stretch: Sequence[Signal], by: str) -> str:
    first, last = stretch[0], stretch[-1]
    if first is last or last.rule == "run_of_8":
        return last.says
    pattern = last.says.removeprefix(f"{by.capitalize()} {last.label}: ")
    return f"{by.capitalize()}s {first.label} to {last.label}, each time: {pattern}"
