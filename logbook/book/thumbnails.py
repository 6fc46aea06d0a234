"""Photos of runs made small enough to stand on a page that is sent by mail."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from pathlib import Path

LONGEST_SIDE_PIXELS = 320
MOST_OF_A_RUN = 3
MOST_BYTES = 60_000
"""Of one photo; one that stays larger is not shown."""
MOST_BYTES_TOGETHER = 1_000_000


@dataclass(frozen=True, slots=True)
class RunPhotos:
    """Photos of one run as JPEG, and how many more there are that are not shown."""

    shown: tuple[bytes, ...]
    others: int = 0

    @property
    def others_words(self) -> str:
        """Say that there are more: ``2 more photos``; empty where there are not."""
        if not self.others:
            return ""
        more = "more " if self.shown else ""
        return f"{self.others} {more}photo{'' if self.others == 1 else 's'} not shown here"


def thumbnails_of_runs(files: Mapping[str, Sequence[Path]]) -> dict[str, RunPhotos]:
    """Make the photos of runs small.

    At most three of a run, and a megabyte for all; a file that is no picture counts among those
    that are not shown.

    Parameters
    ----------
    files
        The photos of each run, by its reference.
    """
    found: dict[str, RunPhotos] = {}
    room = MOST_BYTES_TOGETHER
    for run_ref, paths in files.items():
        shown: list[bytes] = []
        for path in paths[:MOST_OF_A_RUN]:
            photo = thumbnail(path)
            if photo is not None and len(photo) <= min(room, MOST_BYTES):
                room -= len(photo)
                shown.append(photo)
        found[run_ref] = RunPhotos(tuple(shown), len(paths) - len(shown))
    return found


@lru_cache(maxsize=64)
def thumbnail(path: Path) -> bytes | None:
    """Make one photo small, as JPEG; None where the file is no picture.

    Files that are called by their content never change, so what was made of them is remembered.
    """
    from PIL import Image, UnidentifiedImageError  # late: most reviews have no photos

    try:
        with Image.open(path) as picture:
            picture.draft("RGB", (2 * LONGEST_SIDE_PIXELS, 2 * LONGEST_SIDE_PIXELS))
            small = picture.convert("RGB")
    except (UnidentifiedImageError, Image.DecompressionBombError, OSError):
        return None
    small.thumbnail((LONGEST_SIDE_PIXELS, LONGEST_SIDE_PIXELS))
    drawn = BytesIO()
    small.save(drawn, format="JPEG", quality=72, optimize=True)
    return drawn.getvalue()
