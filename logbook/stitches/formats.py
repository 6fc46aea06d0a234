"""What is known of files by their ending: how they begin, how they end, whether they tell trims.

Endings are those of the reading library; what is said of them here was read from its readers.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from logbook.stitches.design import Trims


@dataclass(frozen=True, slots=True)
class Format:
    """Files of one ending.

    Attributes
    ----------
    begins
        Any of these stands near the beginning, within ``begins_within`` bytes; empty where
        files of this ending have no such sign.
    ended
        Whether the last four bytes that were read hold the mark of the end; None where there
        is no such mark, or none that is known for certain.
    whole
        The stitches reach to the last byte of the file.
    last
        After the mark of the end little follows but padding.
    trims
        Whether the file has a command for cutting the thread.
    sewn
        Made for embroidery machines, whose stitches are at most some 12 mm long.
    """

    begins: tuple[bytes, ...] = ()
    begins_within: int = 0
    ended: Callable[[bytes], bool] | None = None
    whole: bool = False
    last: bool = False
    trims: Trims = Trims.NOT_RECORDED
    sewn: bool = True


def _ends_as_dst(tail: bytes) -> bool:
    return bool(tail) and tail[-1] & 0xF3 == 0xF3


def _ends_as_pec(tail: bytes) -> bool:
    return tail.endswith(b"\xff\x00")


def _ends_as_jef(tail: bytes) -> bool:
    return b"\x80\x10" in tail


def _ends_as_u01(tail: bytes) -> bool:
    return len(tail) >= 3 and tail[-3] & 0x1F == 0x18


def _ends_as_tbf(tail: bytes) -> bool:
    return tail.endswith(b"\x8f")


def _ends_as_xxx(tail: bytes) -> bool:
    return tail[:2] in (b"\x7f\x7f", b"\x7f\x18")


FORMATS: dict[str, Format] = {
    "dst": Format((b"LA:",), 512, _ends_as_dst, last=True, trims=Trims.INFERRED),
    "pes": Format((b"#PES", b"#PEC"), 4, _ends_as_pec, trims=Trims.RECORDED),
    "pec": Format((b"#PEC",), 4, _ends_as_pec, trims=Trims.RECORDED),
    "jef": Format(ended=_ends_as_jef, last=True, trims=Trims.INFERRED),
    "exp": Format(whole=True, trims=Trims.RECORDED),
    "vp3": Format((b"%vsm%",), 5, trims=Trims.RECORDED),
    "u01": Format(ended=_ends_as_u01, last=True, trims=Trims.RECORDED),
    "tbf": Format(ended=_ends_as_tbf, last=True, trims=Trims.RECORDED),
    "xxx": Format(ended=_ends_as_xxx, trims=Trims.RECORDED),
    "sew": Format(),
    "exy": Format(ended=_ends_as_dst, last=True, trims=Trims.INFERRED),
    "tap": Format(ended=_ends_as_dst, last=True, trims=Trims.INFERRED),
    "phb": Format((b"#PHB",), 4, _ends_as_pec, trims=Trims.RECORDED),
    "phc": Format((b"#PHC",), 4, _ends_as_pec, trims=Trims.RECORDED),
    "iqp": Format((b"StitchV2",), 8, sewn=False),
    **{
        ending: Format(trims=Trims.RECORDED)
        for ending in ("10o", "dat", "dsb", "dsz", "emd", "hus", "ksm", "stx")
    },
    **{ending: Format(trims=Trims.RECORDED, sewn=False) for ending in ("csv", "json")},
    **{ending: Format(sewn=False) for ending in ("gcode", "plt", "qcc")},
}
"""Endings of which something is known; of others nothing is."""

UNKNOWN = Format()


def format_of(ending: str) -> Format:
    """What is known of files with this ending."""
    return FORMATS.get(ending, UNKNOWN)
