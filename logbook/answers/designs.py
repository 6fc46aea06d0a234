"""The shop's designs: which stitch files were sewn under a name, and since when."""

from __future__ import annotations

from dataclasses import replace

from logbook.intake import Taken
from logbook.intake.doubts import with_stitches_known
from logbook.intake.sewn_designs import with_sewn_designs
from logbook.records.designs import Design, design_from
from logbook.store import Store

DRAWER = "designs"


def design_names(store: Store) -> tuple[str, ...]:
    """What they are called; cheaper than to read them whole."""
    return tuple(card.card_ref for card in store.cards(DRAWER))


def designs(store: Store) -> tuple[Design, ...]:
    """Every design of which the book holds a stitch file, in the order in which they came."""
    return tuple(design_from(card.card_ref, card.content) for card in store.cards(DRAWER))


def design(store: Store, name: str) -> Design | None:
    """One design with its versions; None where the book holds no file of it."""
    return next((each for each in designs(store) if each.name == name), None)


def filled(store: Store, taken: Taken) -> Taken:
    """The same runs, with version, density and stitches of the files that were sewn."""
    runs = with_sewn_designs(taken.good, designs(store))
    if runs is taken.good:
        return taken
    notes = with_stitches_known(taken.notes, taken.good, runs, store.shop)
    return replace(taken, good=runs, notes=notes)
