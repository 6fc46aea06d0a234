"""Stitch files of designs: taken in, measured, and kept in the book's folder."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from logbook.atomic_files import atomic_write
from logbook.book.designs import COLLECTION, design, designs
from logbook.book.runs import known_spellings, now_at
from logbook.errors import RecordError, StoreError
from logbook.runs.columns import LONGEST_TEXT
from logbook.runs.designs import DIGEST_DIGITS, Design, DesignVersion, design_from
from logbook.stitches import Measurement, measure_bytes
from logbook.store import Store

FOLDER = "designs"


@dataclass(frozen=True, slots=True, eq=False)
class Added:
    """What became of a stitch file.

    ``is_new`` is false where the very same file was in use already. ``notes`` say what is odd
    about it, or whose file it is besides.
    """

    design: Design
    measurement: Measurement
    is_new: bool
    notes: tuple[str, ...]


def add_design_file(
    store: Store,
    name: str,
    content: bytes,
    *,
    file_name: str,
    source: str,
    since: datetime | None = None,
) -> Added:
    """Take in a stitch file: the first of a design, or a new version of it.

    Runs that finish from ``since`` on are taken to be sewn from it.

    Parameters
    ----------
    name
        Of the design; a known one in another spelling is understood.
    content, file_name
        The file, and what it was called.
    source
        Kept with the version.
    since
        When the shop began to sew it, in the shop's time; None for now.

    Raises
    ------
    RecordError
        The name is empty or too long, or ``since`` is before the version in use.
    StitchFileError
        The file is no stitch file, breaks off, or is too large.
    StoreError
        The file cannot be kept.
    """
    known_as = _known_name(store, name)
    measured = measure_bytes(content, file_name=file_name)
    version = version_of(measured, since=_in_shop_time(store, since))
    documents = store.documents(COLLECTION, keys=[known_as])
    before = design(store, known_as)
    notes = [*measured.notes, *_also_of(store, version, known_as)]
    if before is not None and before.newest.digest == version.digest:
        if not _place(store, before.newest).is_file():
            _keep_file(store, before.newest, content)
        return Added(before, measured, False, tuple(notes))
    if before is not None and version.since < before.newest.since:
        says = "a version cannot begin before the one in use"
        raise RecordError(
            f"The file {file_name} was not kept: {says}.", reasons={"design_version": says}
        )
    if before is not None:
        version = replace(version, needles=_same_needles(before.newest, version))
    whole = Design(known_as, (*(before.versions if before else ()), version))
    _keep_file(store, version, content)
    store.put_document(
        COLLECTION,
        known_as,
        whole.plain(),
        source=source,
        seen=documents[0].version if documents else 0,
    )
    return Added(whole, measured, True, tuple(notes))


def version_of(measured: Measurement, *, since: datetime) -> DesignVersion:
    """What a book keeps of a measured file."""
    found = measured.design
    return DesignVersion(
        digest=found.content_hash[:DIGEST_DIGITS],
        file_name=found.file_name,
        ending=found.ending,
        since=since,
        stitches=measured.stitches,
        colour_changes=measured.colour_changes,
        width_mm=round(measured.width_mm, 2),
        height_mm=round(measured.height_mm, 2),
        thread_length_m=round(measured.thread_length_m, 2),
        density_mean=round(measured.mean_density, 3),
        density_densest=round(measured.density.densest, 3),
        trims=measured.trims,
        step_stitches=measured.step_stitches,
        colours=tuple(colour or "" for colour in found.colours),
    )


def set_needles(
    store: Store, name: str, needles: Mapping[int, int], *, digest: str, source: str
) -> Design:
    """Say which needle sews each colour step (from 1) of the version in use.

    Parameters
    ----------
    name
        Of the design.
    needles
        Needle by colour step.
    digest
        Of the version that they are meant for.
    source
        Kept with the change.

    Raises
    ------
    RecordError
        There is no such design, another version is in use, or the steps are not all there.
    DocumentChanged
        Somebody else changed the design at the same moment.
    """
    documents = store.documents(COLLECTION, keys=[name])
    found = design_from(name, documents[0].content) if documents else None
    if found is not None and found.newest.digest != digest:
        says = "the design has a new stitch file since"
        raise RecordError(
            f"The needles were not kept: {says}.",
            "look at its colour steps again",
            reasons={"needle": says},
        )
    steps = 0 if found is None else len(found.newest.step_stitches)
    if found is None or sorted(needles) != list(range(1, steps + 1)):
        says = "every colour step of the design needs its needle"
        raise RecordError(f"The needles were not kept: {says}.", reasons={"needle": says})
    stated = tuple(needles[step] for step in range(1, steps + 1))
    whole = replace(found, versions=(*found.versions[:-1], replace(found.newest, needles=stated)))
    store.put_document(COLLECTION, name, whole.plain(), source=source, seen=documents[0].version)
    return whole


def file_of(store: Store, version: DesignVersion) -> Path:
    """Where the book keeps the file of a version.

    Raises
    ------
    StoreError
        It is not there, or this book has no folder.
    """
    path = _place(store, version)
    if not path.is_file():
        raise StoreError(
            f"The stitch file {version.file_name} is not in the book's folder any more.",
            f"put it back as {path}, or restore a backup",
        )
    return path


def measured_again(store: Store, version: DesignVersion) -> Measurement:
    """The drawing and the density map of a version, from its file."""
    found = measure_bytes(file_of(store, version).read_bytes(), file_name=version.file_name)
    if not found.design.content_hash.startswith(version.digest):
        raise StoreError(
            f"The stitch file {file_of(store, version)} is not the one that was measured.",
            "put the right one back, or restore a backup",
        )
    return found


def _in_shop_time(store: Store, since: datetime | None) -> datetime:
    if since is None:
        return now_at(store)
    if since.tzinfo is None:
        return since
    return since.astimezone(ZoneInfo(store.shop.timezone)).replace(tzinfo=None)


def _place(store: Store, version: DesignVersion) -> Path:
    if store.folder is None:
        raise StoreError("This book has no folder for stitch files.")
    return store.folder / FOLDER / f"{version.digest}.{version.ending}"


def _keep_file(store: Store, version: DesignVersion, content: bytes) -> None:
    path = _place(store, version)
    path.parent.mkdir(parents=True, exist_ok=True)
    with atomic_write(path) as part:
        part.write_bytes(content)


def _known_name(store: Store, name: str) -> str:
    plain = " ".join(name.split())
    if not plain or len(plain) > LONGEST_TEXT:
        says = f"a design needs a name of up to {LONGEST_TEXT} characters"
        raise RecordError(f"The file was not kept: {says}.", reasons={"design": says})
    known = {each.casefold(): each for each in reversed(known_spellings(store)["design"])}
    return known.get(plain.casefold(), plain)


def _also_of(store: Store, version: DesignVersion, name: str) -> list[str]:
    others = [
        each.name for each in designs(store) if each.name != name and each.version(version.digest)
    ]
    return [f"the same file is kept as the design {other}" for other in others[:1]]


def _same_needles(before: DesignVersion, now: DesignVersion) -> tuple[int, ...]:
    alike = len(before.step_stitches) == len(now.step_stitches)
    return before.needles if alike else ()
