"""The command ``logbook``: a thin skin over :mod:`logbook.questions`."""

from __future__ import annotations

import os

# The model solves many small systems: threads of linear algebra wait for one another there, three
# to thirty times as long on a busy machine. It must be said before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from logbook.cli.app import main

__all__ = ["main"]
