"""Words of cells and headings in the form in which they are compared."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

_JOINERS = re.compile(r"[\s_\-\u2010-\u2015\u2212/\\.:]+")
_OTHERS = re.compile(r"[^\w\s#%&+✓✔√✗✘]")

NOT_SAID = frozenset(
    (
        "",
        "-",
        "--",
        "---",
        "–",
        "—",
        "?",
        "??",
        "???",
        "n/a",
        "na",
        "n.a.",
        "n. a.",
        "k.a.",
        "k. a.",
    )
) | frozenset(("tbd", "unknown", "unbekannt", ".", "/", "\\", "*", "…", "...", "#n/a", "null"))
"""Cells that say that nothing was written down."""

DITTO = frozenset(
    ('"', "''", "“", "”", "〃", "do.", "do", "ditto", "dto.", "dto", "″", "´´", '-"-')
)
"""Cells that repeat the one above."""


@lru_cache(maxsize=65_536)
def plain(text: str) -> str:
    """A cell's words: small letters, joiners and punctuation as single spaces."""
    folded = unicodedata.normalize("NFKC", text).casefold().replace("ß", "ss")
    return " ".join(_OTHERS.sub(" ", _JOINERS.sub(" ", folded)).split())


def is_said(text: str) -> bool:
    """Whether a cell says anything at all."""
    return text.strip().casefold() not in NOT_SAID


def is_name(text: str) -> bool:
    """Whether a text has letters, so that it can be a word."""
    return any(map(str.isalpha, text))
