"""How values, frames and errors travel between a command and the service."""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import polars as pl
from pydantic import TypeAdapter
from pydantic_core import to_jsonable_python

from logbook import errors
from logbook.errors import LogbookError, StoreError

PROTOCOL = 6
"""Raised whenever an older command would not understand an answer, or the other way round."""
TOKEN_HEADER = "X-Logbook-Token"
CONTENT_TYPE = "application/vnd.logbook.values"
REFUSED = 409
"""HTTP status of an error of ours, told by class name and message."""
_LENGTH_BYTES = 8


def to_bytes(values: Mapping[str, Any]) -> bytes:
    """Named values as bytes: frames as Arrow files, then all else as JSON, then its length.

    Frames come first so that a large one is written once, into the very bytes that are sent.
    """
    out = io.BytesIO()
    plain, frames = {}, {}
    for name, value in values.items():
        if isinstance(value, pl.DataFrame):
            start = out.tell()
            value.write_ipc(out, compression="lz4")
            frames[name] = (start, out.tell())
        else:
            # A relative path means another file in a process that runs elsewhere.
            plain[name] = plain_values(value.resolve() if isinstance(value, Path) else value)
    reply = json.dumps({"values": plain, "frames": frames}).encode()
    out.write(reply)
    out.write(len(reply).to_bytes(_LENGTH_BYTES, "big"))
    return out.getvalue()


def from_bytes(content: bytes, types: Mapping[str, Any]) -> dict[str, Any]:
    """The named values of such bytes, each of the type told.

    Raises
    ------
    StoreError
        They are something else.
    """
    end = len(content) - _LENGTH_BYTES
    length = int.from_bytes(content[max(end, 0) :], "big")
    try:
        reply = json.loads(content[max(end - length, 0) : max(end, 0)])
        values: dict[str, Any] = {
            name: pl.read_ipc(content[start:stop])
            for name, (start, stop) in reply["frames"].items()
        }
        for name, value in reply["values"].items():
            values[name] = None if value is None else _adapter(types[name]).validate_python(value)
    except (ValueError, TypeError, AttributeError, LookupError, pl.exceptions.PolarsError) as cause:
        raise StoreError(f"What was sent is not what was asked for: {cause}.") from cause
    return values


@lru_cache
def _adapter(kind: Any) -> TypeAdapter[Any]:
    return TypeAdapter(kind)


def plain_values(value: Any) -> Any:
    """A value as JSON can hold it, equal on both ends of the line."""
    return to_jsonable_python(value, inf_nan_mode="constants", fallback=dict)


def error_out(problem: LogbookError) -> dict[str, Any]:
    """An error by its class, message, hint and whatever else it carries."""
    more = {name: value for name, value in vars(problem).items() if name not in _HEAD}
    return {
        "error": type(problem).__name__,
        "message": problem.message,
        "hint": problem.hint,
        "more": more,
    }


def error_in(reply: Mapping[str, Any]) -> LogbookError:
    """The same error again, so that it is said in the same words; an unknown one is a StoreError.

    Raises
    ------
    KeyError, TypeError
        The values are not those of an error.
    """
    known = getattr(errors, reply["error"], None)
    if isinstance(known, type) and issubclass(known, LogbookError):
        return known(reply["message"], reply["hint"], **reply["more"])
    return StoreError(reply["message"], reply["hint"])


_HEAD = ("message", "hint")
