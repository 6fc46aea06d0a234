"""The suggestions side by side."""

from __future__ import annotations

from logbook.questions.advice.result import AdviceResult
from logbook.questions.advice.suggestion import Evidence, Suggestion
from logbook.questions.advice.words import HOW_TOLD
from logbook.questions.table import Cell, Heading, Table, Tone, table
from logbook.short_figures import ABSENT
from logbook.wording import number, percent

TONES: dict[Evidence, Tone] = {"strong": "relief", "fair": "watch", "thin": "quiet"}


def tables(result: AdviceResult) -> tuple[Table, ...]:
    """One row a suggestion."""
    headings = (
        Heading("#", figures=True),
        Heading("Change"),
        Heading(f"saves, {result.currency} per 100", figures=True),
        Heading("95 % interval", figures=True, wide_only=True),
        Heading("defective", figures=True, wide_only=True),
        Heading("pieces", figures=True, wide_only=True),
        Heading("evidence"),
    )
    rows: list[list[str | Cell]] = [
        [
            str(place),
            each.words(),
            _saved(each),
            f"{each.saving_interval[0]:,.2f} to {each.saving_interval[1]:,.2f}",
            percent(each.expected_rate),
            number(each.pieces),
            Cell(each.evidence, TONES[each.evidence]),
        ]
        for place, each in enumerate(result.suggestions, start=1)
    ]
    return (table("Suggestions side by side", headings, rows, legend=HOW_TOLD),)


def _saved(each: Suggestion) -> str:
    """Say the saving, which thin evidence does not promise."""
    if each.saving_per_100 <= 0:
        return ABSENT
    return f"{'perhaps ' if each.evidence == 'thin' else ''}{each.saving_per_100:,.2f}"
