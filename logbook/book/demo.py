"""The invented shop as a book, to look around in."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from logbook import assets
from logbook.book.defect_locations import COLLECTION as MARKS
from logbook.book.design_files import add_design_file
from logbook.book.designs import designs
from logbook.book.materials import READERS, keep_material, materials
from logbook.book.sheets import ImportResult, Progress, import_sheets
from logbook.errors import NoBook
from logbook.runs.defect_locations import locations_from
from logbook.store import Store, new_book, open_book

FAULTS = "faults.csv"
SOURCE = "demo"
DESIGNS_SINCE = datetime(2025, 11, 1)
"""Before the first run of the year."""


def sample_folder() -> Path:
    """Where the sample run sheets lie: inside what is installed, or beside it in a clone."""
    installed = assets.FOLDER / "sample_logs"
    return installed if installed.is_dir() else assets.FOLDER.parents[1] / "sample_logs"


def sample_sheets() -> tuple[Path, ...]:
    """The year of run sheets, oldest first; the sheet of faults is not among them."""
    folder = sample_folder()
    sheets = (*folder.glob("20*.csv"), *folder.glob("20*.xlsx"))
    return tuple(sorted(sheet for sheet in sheets if ".rejects" not in sheet.name))


def make_demo(
    place: str,
    *,
    progress: Progress | None = None,
    reach: Callable[[str], Store] = open_book,
) -> tuple[Store, ImportResult]:
    """Make a book of the sample run sheets, or open it where it was made before.

    Parameters
    ----------
    place
        Folder of the demo book.
    progress
        Told how far the work has come.
    reach
        How a book that was made before is opened.

    Returns
    -------
    Store, ImportResult
        The open book, and what the import added.

    Raises
    ------
    NotABook
        The folder holds something else.
    """
    settings = (sample_folder() / "shop.toml").read_text(encoding="utf-8")
    try:
        store = reach(place)
    except NoBook:
        store = new_book(place, settings=settings)
    try:
        add_designs(store)
        taken = import_sheets(store, sample_sheets(), progress=progress)
        fill_shelf(store)
        mark_places(store)
        return store, taken
    except BaseException:
        store.close()
        raise


def add_designs(store: Store) -> None:
    """Put the shop's own stitch files in, as if they had been sewn from its first day on."""
    present = {each.name for each in designs(store)}
    for path in sorted((sample_folder() / "designs").glob("*-*.*")):
        # Named after their designs: heron-crest.pes is "Heron crest".
        name = path.stem.replace("-", " ").capitalize()
        if name not in present:
            add_design_file(
                store,
                name,
                path.read_bytes(),
                file_name=path.name,
                source=SOURCE,
                since=DESIGNS_SINCE,
            )


def mark_places(store: Store) -> None:
    """Mark where the year's defects showed and its threads broke, where nothing is marked yet."""
    if store.documents(MARKS):
        return
    runs = store.runs().select("run_ref", "design", "design_version")
    of_design = {ref: (design, version) for ref, design, version in runs.iter_rows()}
    text = (sample_folder() / "places.json").read_text(encoding="utf-8")
    for entry in json.loads(text):
        run_ref = entry["run_ref"]
        if run_ref in of_design:
            design, version = of_design[run_ref]
            marks = locations_from(run_ref, design, entry | {"design_version": version})
            store.put_document(MARKS, run_ref, marks.plain(), source=SOURCE, about=design)


def fill_shelf(store: Store) -> None:
    """Put the sample materials into the collections that are still empty."""
    text = (sample_folder() / "materials.json").read_text(encoding="utf-8")
    for collection, entry in json.loads(text).items():
        if not materials(store, collection):
            for each in entry:
                keep_material(store, READERS[collection](each), source=SOURCE)
