"""A backup a day, and the oldest taken away."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from logbook.errors import BookNewer, BookReadOnly, NotABackup
from logbook.safekeeping.archive import read_manifest
from logbook.safekeeping.backups import BackedUp, back_up
from logbook.shop import DailyBackups
from logbook.store import Store


@dataclass(frozen=True, slots=True)
class DailyBackup:
    """The backup made today, and the files taken away for it."""

    made: BackedUp
    removed: tuple[str, ...]


def backup_if_due(store: Store, now: datetime) -> DailyBackup | None:
    """Make today's backup, where the settings ask for it and it is not there yet.

    Parameters
    ----------
    now
        The moment; without a zone it is taken to be the shop's time.

    Returns
    -------
    DailyBackup or None
        None where no backup is asked for, or today's is there.

    Raises
    ------
    StoreError, IntakeError
        The backup cannot be made; nothing was taken away.
    """
    asked = store.shop.backup
    if asked is None:
        return None
    zone = ZoneInfo(store.shop.timezone)
    today = (now if now.tzinfo is None else now.astimezone(zone)).date()
    folder = _folder(store, asked)
    name = file_name(store.shop.name)
    path = folder / f"{name}-{today.isoformat()}.zip"
    if path.exists():
        return None
    made = back_up(store, path)
    return DailyBackup(made, _pruned(folder, name, asked.keep, made, path))


def file_name(shop: str) -> str:
    """What the backups of a shop are called: ``hollow-lane`` of ``Hollow Lane``."""
    plain = unicodedata.normalize("NFKD", shop).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-") or "logbook"


def _folder(store: Store, asked: DailyBackups) -> Path:
    folder = Path(asked.folder).expanduser()
    if not folder.is_absolute():
        if store.folder is None:
            raise BookReadOnly(
                f"The folder for backups, {asked.folder}, does not say where it lies.",
                "write the whole path in [backup] of shop.toml",
            )
        folder = store.folder / folder
    try:
        # Not its parents: a disk that is not there must not be taken for an empty one.
        folder.mkdir(exist_ok=True)
    except OSError as cause:
        raise BookReadOnly(
            f"The folder for backups, {folder}, cannot be used: {cause.strerror}.",
            "make it, or name another in [backup] of shop.toml",
        ) from cause
    return folder


def _pruned(folder: Path, name: str, keep: int, made: BackedUp, newest: Path) -> tuple[str, ...]:
    """Take away the oldest backups of this book beyond ``keep``; never any other file."""
    mark = made.manifest.book.mark
    dated = {path: day for path in folder.iterdir() if (day := _day(path, name)) is not None}
    ours = sorted((path for path in dated if _is_of(path, mark)), key=lambda path: dated[path])
    removed = []
    for path in ours[: max(0, len(ours) - keep)]:
        if path != newest:
            try:
                path.unlink(missing_ok=True)
            except OSError as cause:
                raise BookReadOnly(
                    f"Today's backup was made, but the old one {path} cannot be taken away: "
                    f"{cause.strerror}.",
                    "allow it, or take it away by hand",
                ) from cause
            removed.append(str(path))
    return tuple(removed)


def _day(path: Path, name: str) -> date | None:
    said = re.fullmatch(re.escape(name) + r"-(\d{4}-\d{2}-\d{2})\.zip", path.name)
    try:
        return date.fromisoformat(said.group(1)) if said else None
    except ValueError:
        return None


def _is_of(path: Path, mark: str) -> bool:
    try:
        return path.is_file() and read_manifest(path).book.mark == mark
    except (NotABackup, BookNewer):
        # What cannot be read is not known to be ours.
        return False
