"""The shop's designs: which stitch files were sewn under a name, and since when."""

from __future__ import annotations

from dataclasses import replace

import polars as pl

from logbook.runs.designs import Design, design_from
from logbook.runs.intake import Parsed
from logbook.runs.intake.data_quality import with_stitches_known
from logbook.runs.intake.made_shift import without_made_shift
from logbook.runs.intake.sewn_designs import FILLED, with_sewn_designs
from logbook.store import Document, Store

COLLECTION = "designs"
MOST_HELD = 20_000
_DESIGNS: dict[tuple[str, int], tuple[Document, Design]] = {}


def design_names(store: Store) -> tuple[str, ...]:
    """What they are called; cheaper than to read them whole."""
    return tuple(document.key for document in store.documents(COLLECTION))


def designs(store: Store) -> tuple[Design, ...]:
    """Every design of which the book holds a stitch file, in the order in which they came."""
    return tuple(_read(document) for document in store.documents(COLLECTION))


def design(store: Store, name: str) -> Design | None:
    """One design with its versions; None where the book holds no file of it."""
    found = (document for document in store.documents(COLLECTION) if document.key == name)
    return next((_read(document) for document in found), None)


def filled(store: Store, parsed: Parsed) -> Parsed:
    """The same runs, with version, density and stitches of the files that were sewn.

    A run may be in the book from before its file came, without them: what it said as it was sent
    goes along, so that it is known again.
    """
    runs = with_sewn_designs(parsed.good, designs(store))
    as_sent = told_otherwise(store, parsed.good, runs)
    if runs is parsed.good:
        return replace(parsed, as_sent=as_sent)
    notes = with_stitches_known(parsed.notes, parsed.good, runs, store.shop)
    return replace(parsed, good=runs, notes=notes, as_sent=as_sent)


def told_otherwise(store: Store, sent: pl.DataFrame, runs: pl.DataFrame) -> pl.DataFrame | None:
    """Columns by which the book may know the same runs; None where there are no such.

    They are as they were sent where something was filled in since, and without a shift that the
    book would make of the finish.
    """
    shift = without_made_shift(sent, store.shop.shifts)
    if runs is sent and shift is None:
        return None
    return sent.select(FILLED).with_columns([] if shift is None else [shift])


def _read(document: Document) -> Design:
    """The design on a document; the very same document is read once.

    Each run that is logged asks for all designs, and a shop may have thousands.
    """
    held = _DESIGNS.get((document.key, document.version))
    if held is not None and held[0] is document:
        return held[1]
    found = design_from(document.key, document.content)
    if len(_DESIGNS) >= MOST_HELD:
        _DESIGNS.clear()
    _DESIGNS[document.key, document.version] = (document, found)
    return found
