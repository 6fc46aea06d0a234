"""Photos of a run that is being typed: beside its draft until the run is logged.

They lie in ``drafts/REFERENCE/``, looked at and drawn anew as those of runs are, and are found on
the device alone that the draft is of. They go where the draft goes: to the run when it is logged,
away when it is forgotten, never into a backup.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from logbook.book.drafts import Draft, draft_of, photos_folder
from logbook.book.photos import Picture, is_name, keep_picture, picture_of, write_picture
from logbook.errors import IntakeError
from logbook.store import Store

MOST_PHOTOS = 10
"""Of one draft."""
MOST_BYTES = 20 * 2**20
"""Of all photos of one draft together, as they are kept: a phone's photo takes about half a MB."""
_FULL = "log the run, or remove a photo first"


def hold_photo(store: Store, run_ref: str, content: bytes, *, device: str | None) -> Path:
    """Hold a photo for a run that is being typed; the same photo again is the same file.

    Parameters
    ----------
    run_ref
        The reference that the run will have; this device's draft of it is kept already.
    content
        The file as the phone sent it.
    device
        The device that the page is on.

    Raises
    ------
    IntakeError
        It is no photo of a known sort, is too large, is one too many, or cannot be written.
    """
    return _hold(store, run_ref, picture_of(content), device)


def photos_of_draft(store: Store, run_ref: str, *, device: str | None) -> tuple[Path, ...]:
    """List the photos that this device holds for a run, oldest first."""
    draft = draft_of(store, run_ref, device=device)
    return () if draft is None else _photos(store, draft.run_ref)


def drop_photo(store: Store, run_ref: str, name: str, *, device: str | None) -> None:
    """Take one photo away; nothing happens where it is not there.

    Raises
    ------
    IntakeError
        It cannot be taken away.
    """
    for path in photos_of_draft(store, run_ref, device=device):
        if path.name == name:
            _take_away(path)


def take_over(store: Store, draft: Draft, kind: str | None) -> int:
    """Keep the photos of a draft with its run, which is logged; how many there were.

    A photo leaves the draft once it is with the run, so what is cut short can be done again.

    Raises
    ------
    IntakeError
        One cannot be read, written or taken away: it stays with the draft, and so do those after
        it.
    """
    found = _photos(store, draft.run_ref)
    for path in found:
        try:
            picture = Picture(path.name, path.read_bytes())
        except FileNotFoundError:
            # Another window of the same form took it over just now.
            continue
        except OSError as cause:
            raise IntakeError(
                f"A photo of run {draft.run_ref} cannot be read: {cause.strerror or cause}.",
                f"look at {path}",
            ) from cause
        keep_picture(store, draft.run_ref, picture, kind)
        _take_away(path)
    return len(found)


def hold_again(store: Store, found: Sequence[Path], run_ref: str, *, device: str | None) -> None:
    """Hold photos of another run, logged or not, for one that is typed in its stead.

    Raises
    ------
    IntakeError
        One cannot be read or written, or is one too many.
    """
    for path in found:
        try:
            picture = Picture(path.name, path.read_bytes())
        except OSError as cause:
            raise IntakeError(
                f"The photo {path} cannot be read: {cause.strerror or cause}.",
                "choose it once more",
            ) from cause
        _hold(store, run_ref, picture, device)


def _hold(store: Store, run_ref: str, picture: Picture, device: str | None) -> Path:
    folder = photos_folder(store, run_ref)
    if folder is None or folder.is_symlink() or draft_of(store, run_ref, device=device) is None:
        raise IntakeError("The photo was not kept.", "choose it once more")
    others = [path for path in _photos(store, run_ref) if path.name != picture.name]
    if len(others) >= MOST_PHOTOS:
        raise IntakeError(f"A run that is being typed holds at most {MOST_PHOTOS} photos.", _FULL)
    if sum(map(_size, others)) + len(picture.content) > MOST_BYTES:
        raise IntakeError(
            f"The photos of a run that is being typed take at most {MOST_BYTES // 2**20} MB.", _FULL
        )
    return write_picture(folder, picture, mode=0o700)


def _size(path: Path) -> int:
    # Another window may take one away meanwhile: it takes no room then.
    with suppress(FileNotFoundError):
        return path.stat().st_size
    return 0


def _take_away(path: Path) -> None:
    try:
        path.unlink(missing_ok=True)
    except OSError as cause:
        raise IntakeError(
            f"The photo {path} cannot be taken away: {cause.strerror or cause}.",
            f"see who may write to {path.parent}",
        ) from cause
    # With photos in it the folder stays.
    with suppress(OSError):
        path.parent.rmdir()


def _photos(store: Store, run_ref: str) -> tuple[Path, ...]:
    folder = photos_folder(store, run_ref)
    if folder is None or folder.is_symlink() or not folder.is_dir():
        return ()
    found: list[tuple[int, str]] = []
    # Another window may take one away meanwhile, and the folder with the last of them.
    with suppress(FileNotFoundError):
        for path in folder.iterdir():
            if is_name(path.name) and not path.is_symlink():
                with suppress(FileNotFoundError):
                    found.append((path.stat().st_mtime_ns, path.name))
    return tuple(folder / name for _, name in sorted(found))
