"""Runs that are being typed: kept beside the book until they are logged.

A draft is one small file, ``drafts/REFERENCE.json`` in the book's folder, and the photos of it lie
beside it in ``drafts/REFERENCE/`` (``draft_photos.py``). It outlives a page, a connection and the
service. It is on the disk before it takes the place of the one before, so that a power cut leaves
one of the two whole. Nothing of it is counted, and no backup holds it.
"""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import time
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from logbook.atomic_files import write_atomically
from logbook.errors import StoreError
from logbook.store import Store

FOLDER = "drafts"
HOURS_KEPT = 48
_NAME = re.compile(r"[A-Z0-9][A-Z0-9-]{3,39}")
_MOMENT = "moment"


@dataclass(frozen=True, slots=True)
class Draft:
    """What was typed of one run, on which device, and when last.

    Attributes
    ----------
    run_ref
        The reference that the run has or will have, so that it can be logged only once.
    device
        A word for the device; None where it does not say which it is.
    typed
        Field → value, plain values and moments.
    kept_at
        When it was last written, in the shop's time.
    logged
        Whether the run was logged since.
    """

    run_ref: str
    device: str | None
    typed: Mapping[str, Any]
    kept_at: datetime
    logged: bool = False


def keep_draft(store: Store, draft: Draft) -> None:
    """Write a draft in place of what was kept under its reference.

    Raises
    ------
    StoreError
        The folder cannot be written; what was kept before is untouched.
    """
    path = _path(store, draft.run_ref)
    if path is None:
        return
    content = {
        "run_ref": draft.run_ref,
        "device": _mark_of(draft.device),
        "kept_at": draft.kept_at.isoformat(),
        "logged": draft.logged,
        "typed": {name: _plain(value) for name, value in draft.typed.items()},
    }
    try:
        path.parent.mkdir(mode=0o700, exist_ok=True)
        write_atomically(path, json.dumps(content, ensure_ascii=False).encode())
    except OSError as cause:
        raise StoreError(
            f"What is typed cannot be kept in {path.parent}: {cause.strerror or cause}.",
            "log the run before leaving the page, and make room on the disk",
        ) from cause


def draft_of(store: Store, run_ref: str, *, device: str | None) -> Draft | None:
    """Read what this device typed under a reference; None where there is nothing to be read."""
    path = _path(store, run_ref)
    return None if path is None else _read(path, device)


def drafts_of(store: Store, *, device: str | None) -> tuple[Draft, ...]:
    """List what this device typed and did not log, newest first; nothing of an unknown device."""
    if store.folder is None or device is None:
        return ()
    found = (_read(path, device) for path in (store.folder / FOLDER).glob("[A-Z0-9]*.json"))
    open_ = [draft for draft in found if draft is not None and not draft.logged]
    return tuple(sorted(open_, key=lambda draft: draft.kept_at, reverse=True))


def forget_draft(store: Store, run_ref: str) -> None:
    """Take a draft away with its photos; nothing happens where there is none."""
    if (path := _path(store, run_ref)) is not None:
        _forget(path)


def forget_old_drafts(store: Store, *, hours: float = HOURS_KEPT) -> None:
    """Take away what nobody came back to, and what a killed service left half written."""
    if store.folder is None:
        return
    oldest = time.time() - hours * 3600
    for path in (store.folder / FOLDER).glob("*"):
        # Photos go by the age of their draft.
        kept = path if path.is_file() else path.with_suffix(".json")
        try:
            old = (kept if kept.exists() else path).lstat().st_mtime < oldest
        except FileNotFoundError:
            # Another page took it away just now.
            continue
        if old:
            _forget(path)


def photos_folder(store: Store, run_ref: str) -> Path | None:
    """Where the photos of a draft lie; None where a reference is no draft's."""
    path = _path(store, run_ref)
    return None if path is None else path.with_suffix("")


def _forget(path: Path) -> None:
    """Take away a draft's file first, since nothing else leads to its photos."""
    folder = path.with_suffix("")
    if not path.is_dir():
        path.unlink(missing_ok=True)
    if folder.is_dir() and not folder.is_symlink():
        # What cannot be taken away now is tried again when it is old.
        shutil.rmtree(folder, ignore_errors=True)


def _path(store: Store, run_ref: str) -> Path | None:
    named = _NAME.fullmatch(run_ref) is not None
    return store.folder / FOLDER / f"{run_ref}.json" if store.folder is not None and named else None


def _read(path: Path, device: str | None) -> Draft | None:
    try:
        kept = json.loads(path.read_text(encoding="utf-8"))
        draft = Draft(
            run_ref=str(kept["run_ref"]),
            device=device,
            typed={str(name): _valued(value) for name, value in kept["typed"].items()},
            kept_at=datetime.fromisoformat(kept["kept_at"]),
            logged=kept["logged"] is True,
        )
    except FileNotFoundError:
        return None
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        # A draft is a convenience: one that cannot be read is as good as none.
        return None
    return draft if kept.get("device") == _mark_of(device) else None


def _mark_of(device: str | None) -> str | None:
    """Name a device without giving away the word by which it is known."""
    return None if device is None else hashlib.sha256(device.encode()).hexdigest()[:32]


def _plain(value: Any) -> Any:
    return {_MOMENT: value.isoformat()} if isinstance(value, date) else value


def _valued(value: Any) -> Any:
    return datetime.fromisoformat(value[_MOMENT]) if isinstance(value, dict) else value
