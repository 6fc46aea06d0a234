"""Where the API is, beneath the root of the service."""

from __future__ import annotations

from urllib.parse import quote

ROOT = "/api"
RUNS = f"{ROOT}/runs"
MARKS = "marks"


def as_address(path: str) -> str:
    """A path as a reference can hold it (RFC 3986)."""
    return quote(path.encode("utf-8", "replace"), safe="/:@!$&'()*+,;=")


def run_at(run_ref: str) -> str:
    """The address of one run."""
    return f"{RUNS}/{quote(run_ref.encode('utf-8', 'replace'), safe='')}"


def marks_at(run_ref: str) -> str:
    """The address of the places of a run."""
    return f"{run_at(run_ref)}/{MARKS}"
