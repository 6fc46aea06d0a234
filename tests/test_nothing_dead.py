"""Every function and class of the product is reached from a face, by its name.

A face is a command, a page, a route, the Python call, or a kernel that stands in the list of calls
that users' own scripts rely on. Names are followed, not types: what is reached may still be unused,
what is not reached is.
"""

from __future__ import annotations

import ast
import re
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).parent.parent
PRODUCT = sorted(
    path for folder in ("logbook", "dashboards") for path in (ROOT / folder).rglob("*.py")
)
FACES = ("dashboards", "logbook/cli", "logbook/service", "logbook/report", "logbook/python_api")
CALLED_BY_USERS = {
    "false_discovery",
    "gamma_prior",
    "pieces_per_arm",
    "proportion",
    "proportion_difference",
    "rate",
    "risk",
    "run_signals",
}
"""Kernels that scripts outside the project call, whether a face does or not."""

Names = set[str]


def test_every_public_name_is_reached_from_a_face() -> None:
    defined, mentioned, at_once = _names()
    reached: Names = set()
    waiting = at_once | CALLED_BY_USERS
    while waiting:
        name = waiting.pop()
        if name in reached:
            continue
        reached.add(name)
        waiting |= mentioned[name] - reached
    assert {name: places for name, places in defined.items() if name not in reached} == {}


def _names() -> tuple[dict[str, list[str]], dict[str, Names], Names]:
    """Return where names are defined, what each definition mentions, what modules do at once."""
    defined: dict[str, list[str]] = defaultdict(list)
    mentioned: dict[str, Names] = defaultdict(set)
    at_once: Names = set()
    for path in PRODUCT:
        short = str(path.relative_to(ROOT))
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            named = isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)
            if (
                named
                and not node.name.startswith("__")
                and not (short.startswith(FACES) and node.decorator_list)
            ):
                defined[node.name].append(short)
                mentioned[node.name] |= _mentions(node) - {node.name}
            elif not isinstance(node, ast.Import | ast.ImportFrom) and not _exports(node):
                at_once |= _mentions(node)
    return defined, mentioned, at_once


def _mentions(node: ast.AST) -> Names:
    """Return the names that a piece of code uses, methods and quoted annotations among them."""
    found: Names = set()
    for each in ast.walk(node):
        if isinstance(each, ast.Name):
            found.add(each.id)
        elif isinstance(each, ast.Attribute):
            found.add(each.attr)
        elif isinstance(each, ast.Constant) and isinstance(each.value, str):
            found |= set(re.split(r"[^A-Za-z_0-9]+", each.value)[:2])
        elif isinstance(each, ast.alias):
            found.add(each.name)
    return found


def _exports(node: ast.stmt) -> bool:
    """Whether a statement is the list of what a module hands out: no use by itself."""
    return isinstance(node, ast.Assign) and any(
        isinstance(target, ast.Name) and target.id == "__all__" for target in node.targets
    )
