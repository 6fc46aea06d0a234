"""Photos of defects: kept as files beside the book, small, and without where they were taken."""

from __future__ import annotations

import hashlib
import re
import warnings
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

from logbook.atomic_files import atomic_write
from logbook.errors import IntakeError
from logbook.store import Store

FOLDER = "photos"
LARGEST_BYTES = 10 * 2**20
LARGEST_PIXELS = 60_000_000
"""More than any phone takes; a small file can unfold into far more."""
LONGEST_SIDE_PIXELS = 1600
COLLECTION = "photos"
ENDINGS = ("jpg", "jpeg", "png", "webp")
_FORMATS = {"jpg": "JPEG", "png": "PNG", "webp": "WEBP"}
_NAME = re.compile(r"[0-9a-f]{16}\.(jpg|png|webp)")
_WANTED = "send a JPEG, PNG or WebP of at most 10 MB"


@dataclass(frozen=True, slots=True)
class Picture:
    """A photo that was looked at and drawn anew, and the name of its file.

    The name is the first digits of the SHA-256 of what was sent: the same photo is the same file.
    """

    name: str
    content: bytes


def picture_of(content: bytes) -> Picture:
    """Look at a photo as the phone sent it, and draw it anew.

    It is turned the right way up, at most 1600 pixels long, and holds nothing but the picture:
    no place, no time, no name of a camera.

    Raises
    ------
    IntakeError
        It is no photo of a known sort, or is too large.
    """
    ending = _sort_of(content)
    mark = hashlib.sha256(content).hexdigest()[:16]
    return Picture(f"{mark}.{ending}", _bare(content, _FORMATS[ending]))


def is_name(name: str) -> bool:
    """Whether a file is called as photos are; nothing else is one."""
    return _NAME.fullmatch(name) is not None


def keep_picture(store: Store, run_ref: str, picture: Picture, kind: str | None) -> str:
    """Keep a photo that was looked at already; its place in the book's folder.

    Raises
    ------
    IntakeError
        It cannot be written.
    """
    if store.folder is None:
        raise IntakeError("This book has no folder to keep photos in.")
    folder = _folder(store.folder, run_ref)
    write_picture(folder, picture)
    place = f"{FOLDER}/{folder.name}/{picture.name}"
    store.put_document(
        COLLECTION,
        f"{folder.name}/{picture.name}",
        {"kind": kind, "place": place},
        source="form",
        about=run_ref,
    )
    return place


def write_picture(folder: Path, picture: Picture, *, mode: int = 0o777) -> Path:
    """Write a photo into a folder, which is made with ``mode``, like the one it is in.

    Raises
    ------
    IntakeError
        The folder cannot be made, or the photo not be written.
    """
    try:
        for each in (folder.parent, folder):
            each.mkdir(mode=mode, exist_ok=True)
    except OSError as cause:
        raise IntakeError(
            f"{folder} cannot be made: {cause.strerror or cause}.", "make room on the disk"
        ) from cause
    path = folder / picture.name
    with atomic_write(path) as part:
        part.write_bytes(picture.content)
    return path


def photos_of(store: Store, run_ref: str) -> tuple[Path, ...]:
    """List the photos of a run, oldest first."""
    if store.folder is None:
        return ()
    files = [
        path
        for path in _folder(store.folder, run_ref).glob("*")
        if path.suffix.lstrip(".") in _FORMATS and not path.name.startswith(".")
    ]
    return tuple(sorted(files, key=lambda path: (path.stat().st_mtime_ns, path.name)))


def runs_with_photos(store: Store) -> tuple[str, ...]:
    """References of the runs that have photos."""
    return tuple(
        dict.fromkeys(document.about for document in store.documents(COLLECTION) if document.about)
    )


def _folder(folder: Path, run_ref: str) -> Path:
    # References are anybody's text; names of folders are not.
    return folder / FOLDER / hashlib.sha256(run_ref.encode()).hexdigest()[:16]


def _sort_of(content: bytes) -> str:
    if len(content) > LARGEST_BYTES:
        raise IntakeError(f"The photo has {len(content) / 2**20:.1f} MB.", _WANTED)
    if content.startswith(b"\xff\xd8\xff"):
        return "jpg"
    if content.startswith(b"\x89PNG\r\n\x1a\n"):
        return "png"
    if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
        return "webp"
    raise IntakeError("This is no photo of a known sort.", _WANTED)


def _bare(content: bytes, format_: str) -> bytes:
    """Draw the picture anew: upright, small, and with nothing beside its pixels."""
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            picture = Image.open(BytesIO(content), formats=[format_])
        width, height = picture.size
        if width * height > LARGEST_PIXELS:
            raise IntakeError(f"The photo has {width} by {height} pixels.", "take a smaller one")
        # A JPEG is read at half its size or less where that is enough: a phone's takes far longer.
        least = LONGEST_SIDE_PIXELS / max(width, height)
        picture.draft(None, (max(1, int(width * least)), max(1, int(height * least))))
        picture.thumbnail((LONGEST_SIDE_PIXELS, LONGEST_SIDE_PIXELS))
        upright = ImageOps.exif_transpose(picture)
        mode = "RGB" if format_ == "JPEG" or upright.mode not in ("RGB", "RGBA", "L") else None
        plain = Image.new(mode or upright.mode, upright.size)
        plain.paste(upright.convert(plain.mode))
        drawn = BytesIO()
        plain.save(drawn, format=format_, quality=85)
    except (UnidentifiedImageError, Image.DecompressionBombError, OSError, ValueError) as cause:
        raise IntakeError("The photo is damaged and cannot be read.", _WANTED) from cause
    return drawn.getvalue()
