"""A run: what can be written down, what cannot be true, and what makes two runs the same."""

from __future__ import annotations

from logbook.runs.columns import COLUMNS, Column, columns_with, outcome_columns, run_schema
from logbook.runs.content import content_digests, made_references
from logbook.runs.judging import Judged, judge
from logbook.runs.rules import RUN_RULES, Rule, rules_for

__all__ = [
    "COLUMNS",
    "RUN_RULES",
    "Column",
    "Judged",
    "Rule",
    "columns_with",
    "content_digests",
    "judge",
    "made_references",
    "outcome_columns",
    "rules_for",
    "run_schema",
]
