"""The file of a backup: a zip with a list of what it holds and a seal over every byte.

An archive is an ordinary zip: ``data/TABLE.parquet``, ``shop.toml``, ``photos/``, ``designs/``,
``imports/`` and ``manifest.json`` with the SHA-256 of every member. Its comment, the last bytes of
the file, holds the SHA-256 of all the bytes before, so that not one of them can change unseen.
"""

from __future__ import annotations

import hashlib
import re
import stat
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from pathlib import Path, PurePosixPath
from typing import IO

from logbook.atomic_files import to_disk
from logbook.errors import NotABackup, StoreError
from logbook.safekeeping.manifest import MANIFEST, Manifest, Member, manifest_from, manifest_text

SEAL = b"logbook backup sha256 "
HEX = 64
LARGEST_MANIFEST = 256 * 2**20
CHUNK = 2**20
_SEAL_AT_END = re.compile(re.escape(SEAL) + rb"([0-9a-f]{64})\Z")
_SHRINKS = (".toml", ".json", ".dst", ".pes", ".exp", ".jef", ".svg", ".txt", ".csv")
_BROKEN = (
    *(zipfile.BadZipFile, zipfile.LargeZipFile, zlib.error, EOFError, NotImplementedError),
    *(RuntimeError, ValueError, KeyError, IndexError, OverflowError, OSError, MemoryError),
)
"""What the zip reader raises over damaged bytes, besides its own error."""
NOT_AS_IT_WAS = "is not as it was backed up"


def write_archive(path: Path, about: Manifest, files: Sequence[tuple[str, Path]]) -> Manifest:
    """Write and seal an archive.

    Parameters
    ----------
    path
        The file to write; a place of the caller's own, since it is not written in one go.
    about
        What the manifest says, without its members.
    files
        Names within the archive, and where their content lies. A file that has gone meanwhile
        is left out.

    Raises
    ------
    StoreError
        A file cannot be read.
    """
    members: list[Member] = []
    with zipfile.ZipFile(path, "w") as archive:
        archive.comment = SEAL + b"0" * HEX
        for name, source in files:
            try:
                file = source.open("rb")
            except FileNotFoundError:
                continue
            except OSError as cause:
                raise StoreError(
                    f"{source} cannot be read: {cause.strerror}.",
                    "allow reading it, or move it out of the book; nothing was backed up",
                ) from cause
            with file:
                members.append(_packed(archive, name, file))
        manifest = about.model_copy(update={"members": tuple(members)})
        info = zipfile.ZipInfo(MANIFEST, about.made_at.timetuple()[:6])
        info.compress_type = zipfile.ZIP_DEFLATED
        archive.writestr(info, manifest_text(manifest))
    with path.open("rb+") as made:
        seal = _digest_before_seal(made)
        made.seek(-HEX, 2)
        made.write(seal.encode())
    return manifest


def read_manifest(path: Path) -> Manifest:
    """What an archive says of itself; nothing is checked but that it can be read.

    Raises
    ------
    NotABackup
        The file is something else, or damaged where it matters.
    BookNewer
        The archive is of a newer kind than this version knows.
    """
    if not path.exists():
        raise NotABackup(f"There is no file {path}.", "look at how the name is written")
    if path.is_dir():
        raise NotABackup(f"{path} is a folder; a backup is one file.", "name the file itself")
    try:
        with zipfile.ZipFile(path) as archive:
            if archive.getinfo(MANIFEST).file_size > LARGEST_MANIFEST:
                raise ValueError("its list of members is too long")
            return manifest_from(archive.read(MANIFEST))
    except _BROKEN as cause:
        raise NotABackup(
            f"{path} is not a backup of a book, or it is damaged: its list of parts cannot be "
            "read.",
            "use another backup",
        ) from cause


def damage_of(path: Path, manifest: Manifest) -> tuple[tuple[str, str], ...]:
    """Check every byte of an archive.

    Returns
    -------
    tuple of pairs
        Where something is wrong (a member's name, or ``archive``), and what; empty where all
        is whole.
    """
    found: list[tuple[str, str]] = []
    try:
        with zipfile.ZipFile(path) as archive:
            names = archive.namelist()
            listed = [member.name for member in manifest.members]
            found += [
                (name, "is in the archive, but not in its list")
                for name in sorted(set(names) - {MANIFEST, *listed})
            ]
            if len(set(names)) < len(names):
                found.append(("archive", "holds two members of one name"))
            for member in manifest.members:
                if fault := _fault(archive, member):
                    found.append((member.name, fault))
    except _BROKEN as cause:
        found.append(("archive", _unreadable(cause)))
    if not found and not _sealed(path):
        found.append(
            ("archive", "was changed after it was made, though every member still reads as written")
        )
    return tuple(found)


def unpack(path: Path, members: Sequence[Member], folder: Path) -> None:
    """Write members below a folder, each checked once more on the way.

    Raises
    ------
    NotABackup
        A member is damaged, or its name would leave the folder.
    """
    with zipfile.ZipFile(path) as archive:
        for member in members:
            target = folder.joinpath(*safe_parts(member.name))
            target.parent.mkdir(parents=True, exist_ok=True)
            digest = hashlib.sha256()
            try:
                with target.open("xb") as file:
                    for chunk in _content(archive, member):
                        digest.update(chunk)
                        file.write(chunk)
            except (zipfile.BadZipFile, zlib.error, EOFError) as cause:
                raise _damaged(path, member) from cause
            if digest.hexdigest() != member.sha256:
                raise _damaged(path, member)
            to_disk(target)


def safe_parts(name: str) -> tuple[str, ...]:
    """The folders and file of a member's name.

    Raises
    ------
    NotABackup
        The name is not one that a backup gives, or would leave the book's folder.
    """
    parts = PurePosixPath(name).parts
    plain = "/".join(parts) == name and not re.search(r"[\\:\x00-\x1f]", name)
    inside = plain and ".." not in parts and not name.startswith("/")
    known = name == "shop.toml" or (len(parts) > 1 and parts[0] in ("photos", "designs", "imports"))
    table = len(parts) == 2 and re.fullmatch(r"data/[a-z][a-z0-9_]*\.parquet", name)
    if not inside or not (known or table):
        raise NotABackup(
            f"The archive holds a member {name!r}, which does not belong into a book; "
            "nothing of it was used.",
            "do not use this file; take a backup that you made yourself",
        )
    return parts


def _packed(archive: zipfile.ZipFile, name: str, file: IO[bytes]) -> Member:
    digest, size = hashlib.sha256(), 0
    info = zipfile.ZipInfo(name)
    if name.lower().endswith(_SHRINKS):
        info.compress_type = zipfile.ZIP_DEFLATED
    with archive.open(info, "w", force_zip64=True) as packed:
        while chunk := file.read(CHUNK):
            digest.update(chunk)
            size += len(chunk)
            packed.write(chunk)
    return Member(name=name, bytes=size, sha256=digest.hexdigest())


def _content(archive: zipfile.ZipFile, member: Member) -> Iterator[bytes]:
    """The bytes of a member, and not one more than the manifest says."""
    left = member.bytes + 1
    with archive.open(member.name) as packed:
        while left > 0 and (chunk := packed.read(min(CHUNK, left))):
            left -= len(chunk)
            yield chunk


def _fault(archive: zipfile.ZipFile, member: Member) -> str | None:
    if member.name not in archive.NameToInfo:
        return "is missing"
    if stat.S_ISLNK(archive.getinfo(member.name).external_attr >> 16):
        return "is a link instead of a file"
    digest = hashlib.sha256()
    try:
        for chunk in _content(archive, member):
            digest.update(chunk)
    except _BROKEN as cause:
        return _unreadable(cause)
    return None if digest.hexdigest() == member.sha256 else NOT_AS_IT_WAS


def _sealed(path: Path) -> bool:
    with path.open("rb") as file:
        file.seek(max(0, path.stat().st_size - len(SEAL) - HEX))
        seal = _SEAL_AT_END.search(file.read())
        return seal is not None and seal.group(1).decode() == _digest_before_seal(file)


def _digest_before_seal(file: IO[bytes]) -> str:
    left = file.seek(0, 2) - HEX
    file.seek(0)
    digest = hashlib.sha256()
    while left > 0 and (chunk := file.read(min(CHUNK, left))):
        left -= len(chunk)
        digest.update(chunk)
    return digest.hexdigest()


def _damaged(path: Path, member: Member) -> NotABackup:
    return NotABackup(f"{path} is damaged: {member.name} {NOT_AS_IT_WAS}.", "use another backup")


def _unreadable(cause: BaseException) -> str:
    """What the zip reader found, without its own words: only those of the disk say more."""
    if isinstance(cause, OSError) and cause.strerror:
        return f"cannot be read: {cause.strerror}"
    return NOT_AS_IT_WAS
