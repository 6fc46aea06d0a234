"""Folders whose modules tests share, and one thread of linear algebra for every process."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest
from hypothesis import settings

# As the command says for itself (`logbook/cli`): threads wait for one another on small systems.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# How long one example takes says more about the machine than about the code.
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")

for shared in ("program", "reference", "unit/adjusted_comparison", "unit/store"):
    sys.path.insert(0, str(Path(__file__).parent / shared))


def pytest_addoption(parser: pytest.Parser) -> None:
    """Let a changed help text be kept on purpose."""
    parser.addoption("--keep-help", action="store_true", help="write the commands' help texts anew")
