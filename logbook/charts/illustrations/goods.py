"""The colours of cloth, thread and metal in the drawings, light and dark."""

from __future__ import annotations

from dataclasses import dataclass

from logbook.charts.theme import DARK, LIGHT


@dataclass(frozen=True, slots=True)
class Goods:
    """What things are made of; each has a deep tone for its shadows and a light one for sheen."""

    cloth: str
    cloth_deep: str
    cloth_light: str
    pile: str
    """Tufts that stand up from the cloth."""
    thread: str
    thread_deep: str
    thread_light: str
    second: str
    """A second colour of top thread, for outlines."""
    second_deep: str
    second_light: str
    bobbin: str
    bobbin_deep: str
    backing: str
    dark: str
    """Shadows, and the eye of a needle."""
    behind: str
    """What is seen through a hole in the cloth."""
    steel: str
    steel_deep: str
    steel_light: str
    stain: str
    mark: str
    """The ring that points to the defect."""


BY_DAY = Goods(
    cloth="#E6DECC",
    cloth_deep="#B9AD92",
    cloth_light="#F8F4E9",
    pile="#CFC3A8",
    thread=LIGHT.thread,
    thread_deep="#07333D",
    thread_light="#4FA6B7",
    second="#B0610F",
    second_deep="#7A410A",
    second_light="#F0A95C",
    bobbin="#FFFFFF",
    bobbin_deep="#8E8873",
    backing="#FFFFFF",
    dark="#2A2620",
    behind="#2A2620",
    steel="#A9B2B8",
    steel_deep="#5C666D",
    steel_light="#EEF2F4",
    stain="#6E5212",
    mark=LIGHT.alarm,
)
BY_NIGHT = Goods(
    cloth="#3B4650",
    cloth_deep="#1D252C",
    cloth_light="#5E6C78",
    pile="#54626E",
    thread=DARK.thread,
    thread_deep="#2C6875",
    thread_light="#D3F2F8",
    second="#F0A95C",
    second_deep="#8A5312",
    second_light="#FFDDB3",
    bobbin="#FFFFFF",
    bobbin_deep="#56626C",
    backing="#C9D2D9",
    dark="#07090B",
    behind="#C9D2D9",
    steel="#8F9AA2",
    steel_deep="#3F4A52",
    steel_light="#DDE4E8",
    stain="#E0C98C",
    mark=DARK.alarm,
)


def goods(*, dark: bool) -> Goods:
    """The colours of one of the two themes."""
    return BY_NIGHT if dark else BY_DAY
