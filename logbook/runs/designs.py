"""Designs with the stitch files that were sewn under their name, one version after another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

DIGEST_DIGITS = 16
"""Hexadecimal digits of a file's SHA-256 by which a version is called; 64 bits tell any apart."""
SHORTEST_DIGEST = 12
"""A design named by this many hexadecimal digits or more may be meant by its file."""


@dataclass(frozen=True, slots=True)
class DesignVersion:
    """One stitch file of a design, as it was measured when it came.

    Attributes
    ----------
    digest
        The first ``DIGEST_DIGITS`` hexadecimal digits of the file's SHA-256.
    file_name, ending
        As the user named it; the ending without its dot.
    since
        When the shop began to sew it, in the shop's time.
    stitches
        Needle penetrations a piece.
    colour_changes, trims
        As counted; None where the file does not record them.
    width_mm, height_mm, thread_length_m
        Of the whole design.
    density_mean, density_densest
        Stitches per mm2 over the sewn area, and in the densest square centimetre.
    step_stitches, colours
        Stitches of each colour step in the order of sewing, and its thread's colour (``#rrggbb``)
        as the file has it.
    needles
        Which needle sews each colour step, as far as the shop has said.
    """

    digest: str
    file_name: str
    ending: str
    since: datetime
    stitches: int
    colour_changes: int
    width_mm: float
    height_mm: float
    thread_length_m: float
    density_mean: float
    density_densest: float
    trims: int | None = None
    step_stitches: tuple[int, ...] = ()
    colours: tuple[str, ...] = ()
    needles: tuple[int, ...] = ()

    def plain(self) -> dict[str, Any]:
        """Plain values, as a document keeps them."""
        values = asdict(self)
        lists = {name: list(values[name]) for name in _LISTS}
        return {"mark": values.pop("digest"), **values, **lists, "since": self.since.isoformat()}


@dataclass(frozen=True, slots=True)
class Design:
    """A design: its name, and its versions, oldest first."""

    name: str
    versions: tuple[DesignVersion, ...]

    @property
    def newest(self) -> DesignVersion:
        """The version in use."""
        return self.versions[-1]

    def sewn_at(self, moment: datetime) -> DesignVersion | None:
        """The version in use at a moment; None before the first came."""
        begun = [version for version in self.versions if version.since <= moment]
        return begun[-1] if begun else None

    def version(self, digest: str | None) -> DesignVersion | None:
        """The version of that digest, the last where a file came back."""
        newest_first = reversed(self.versions)
        return next((version for version in newest_first if version.digest == digest), None)

    def plain(self) -> dict[str, Any]:
        """Plain values, as a document keeps them."""
        return {"versions": [version.plain() for version in self.versions]}


def design_from(name: str, values: Mapping[str, Any]) -> Design:
    """A design read back from plain values."""
    return Design(name, tuple(_version(each) for each in values["versions"]))


def named_by_file(text: str, designs: Sequence[Design]) -> tuple[Design, DesignVersion] | None:
    """The design whose file has this content hash, or begins of it; None where none has."""
    digits = text.strip().lower()
    if len(digits) < SHORTEST_DIGEST or set(digits) - set("0123456789abcdef"):
        return None
    found = [
        (design, version)
        for design in designs
        for version in design.versions
        if digits.startswith(version.digest) or version.digest.startswith(digits)
    ]
    return found[0] if found else None


def _version(values: Mapping[str, Any]) -> DesignVersion:
    since = datetime.fromisoformat(values["since"])
    lists = {name: tuple(values.get(name) or ()) for name in _LISTS}
    others = {name: value for name, value in values.items() if name != "mark"}
    return DesignVersion(**{**others, **lists, "digest": values["mark"], "since": since})


_LISTS = ("step_stitches", "colours", "needles")
