"""How questions, frames and errors travel between a command and the service."""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from dataclasses import asdict
from datetime import date, datetime
from typing import Any

import polars as pl

from logbook import errors
from logbook.errors import LogbookError, StoreError
from logbook.shop import Shop
from logbook.store import Card, Change, Stored, Window

PROTOCOL = 4
"""Raised whenever an older command would not understand an answer, or the other way round."""
TOKEN_HEADER = "X-Logbook-Token"
FRAME_TYPE = "application/vnd.apache.arrow.file"
_AS_SENT = "as sent: "
REFUSED = 409
"""HTTP status of an error of ours, told by class name and message."""


def frame_out(frame: pl.DataFrame) -> bytes:
    """A frame as the bytes of an Arrow file."""
    out = io.BytesIO()
    frame.write_ipc(out, compression="lz4")
    return out.getvalue()


def frame_in(content: bytes) -> pl.DataFrame:
    """The frame of such bytes.

    Raises
    ------
    StoreError
        They are something else.
    """
    try:
        return pl.read_ipc(io.BytesIO(content))
    except pl.exceptions.PolarsError as cause:
        raise StoreError(f"What was sent is not a table: {cause}.") from cause


def with_as_sent(runs: pl.DataFrame, as_sent: pl.DataFrame | None) -> pl.DataFrame:
    """Runs, and beside them columns of theirs as they were sent, as one frame."""
    if as_sent is None:
        return runs
    return runs.hstack(as_sent.rename(lambda name: _AS_SENT + name))


def apart_as_sent(frame: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame | None]:
    """The two of such a frame."""
    beside = [name for name in frame.columns if name.startswith(_AS_SENT)]
    if not beside:
        return frame, None
    as_sent = frame.select(beside).rename(lambda name: name.removeprefix(_AS_SENT))
    return frame.drop(beside), as_sent


def window_out(window: Window | None) -> dict[str, Any]:
    """A window as plain values."""
    asked = window or Window()
    return {
        "since": asked.since and asked.since.isoformat(),
        "until": asked.until and asked.until.isoformat(),
        "site": asked.site,
        "where": dict(asked.where),
        "words": list(asked.words),
        "showing": asked.showing,
        "held": asked.held,
    }


def window_in(told: Mapping[str, Any]) -> Window:
    """The window of such values."""
    days = {
        name: date.fromisoformat(told[name]) if told[name] else None for name in ("since", "until")
    }
    return Window(
        **days,
        site=told["site"],
        where=told["where"],
        words=tuple(told["words"]),
        showing=told["showing"],
        held=told["held"],
    )


def stored_out(stored: Stored) -> dict[str, Any]:
    """What became of a put, as plain values."""
    return asdict(stored)


def stored_in(told: Mapping[str, Any]) -> Stored:
    """The same, read back."""
    return Stored(told["added"], told["skipped"], told["amended"], tuple(told["conflicts"]))


def change_out(change: Change) -> dict[str, Any]:
    """One entry of a history, as plain values."""
    return {**asdict(change), "happened_at": change.happened_at.isoformat()}


def change_in(told: Mapping[str, Any]) -> Change:
    """The same, read back."""
    return Change(**{**told, "happened_at": datetime.fromisoformat(told["happened_at"])})


def card_out(card: Card) -> dict[str, Any]:
    """A card as plain values."""
    return {**asdict(card), "recorded_at": card.recorded_at.isoformat()}


def card_in(told: Mapping[str, Any]) -> Card:
    """The same, read back."""
    return Card(**{**told, "recorded_at": datetime.fromisoformat(told["recorded_at"])})


def kinds_out(shop: Shop) -> list[dict[str, Any]]:
    """A shop's own defect kinds as plain values, equal on both ends of the line."""
    # There and back: what leaves as a tuple arrives as a list.
    kinds: list[dict[str, Any]] = json.loads(json.dumps([asdict(kind) for kind in shop.own_kinds]))
    return kinds


def error_out(problem: LogbookError) -> dict[str, Any]:
    """An error by its class, message, hint and whatever else it carries."""
    more = {name: value for name, value in vars(problem).items() if name not in _HEAD}
    return {
        "error": type(problem).__name__,
        "message": problem.message,
        "hint": problem.hint,
        "more": more,
    }


def error_in(told: Mapping[str, Any]) -> LogbookError:
    """The same error again, so that it is said in the same words; an unknown one is a StoreError.

    Raises
    ------
    KeyError, TypeError
        The values are not those of an error.
    """
    known = getattr(errors, told["error"], None)
    if isinstance(known, type) and issubclass(known, LogbookError):
        return known(told["message"], told["hint"], **told["more"])
    return StoreError(told["message"], told["hint"])


_HEAD = ("message", "hint")
