"""Log a run: what was sewn, with what, and what went wrong."""

from __future__ import annotations

from dashboards.look import heading
from dashboards.shared import book

heading("Log a run")
book().count()
