"""Where breaks gather, and what to look at first there. Common practice of the trade."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Gathering = Literal["head", "needle", "colour_step", "place"]


@dataclass(frozen=True, slots=True)
class BreakPlaceKind:
    """One way in which breaks can gather.

    Attributes
    ----------
    name
        As marks call it; ``place`` is a part of the file.
    label
        As people say it, one of them.
    cause
        What is likely at fault.
    first_checks
        What to look at, in the order in which a practitioner would. With the machine stopped.
    """

    name: Gathering
    label: str
    cause: str
    first_checks: tuple[str, ...]


BREAK_PLACES: tuple[BreakPlaceKind, ...] = (
    BreakPlaceKind(
        "head",
        "head",
        "that head rather than the backing",
        (
            "thread its whole path anew",
            "put in a new needle, at the right height and facing the right way",
            "compare its tension with the heads beside it",
            "have its hook and timing looked at",
        ),
    ),
    BreakPlaceKind(
        "needle",
        "needle",
        "that needle or its thread path rather than the backing",
        (
            "change the needle: a burr or a bent tip cuts thread",
            "look whether its size suits the thread",
            "thread its path anew and look for grooves in the guides",
        ),
    ),
    BreakPlaceKind(
        "colour_step",
        "colour step",
        "that colour's thread, its needle or its part of the file rather than the backing",
        (
            "swap the cone for another of the same colour",
            "look at how it unwinds, and whether the thread is old or dry",
            "then look at the file: short stitches in that colour",
        ),
    ),
    BreakPlaceKind(
        "place",
        "part of the file",
        "the file rather than the backing",
        (
            "look there for stitches under 1 mm, and for layer upon layer of stitching",
            "ask the digitizer to open up the density or take stitches out there",
            "slow down through that part until it is mended",
        ),
    ),
)
SOURCE = "common practice of the trade"


def break_place(name: Gathering) -> BreakPlaceKind:
    """The entry of that name."""
    return next(each for each in BREAK_PLACES if each.name == name)
