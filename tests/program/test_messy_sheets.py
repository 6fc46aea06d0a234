"""Sheets as shops keep them, read without help and held against their truth."""

from __future__ import annotations

import pytest
from messy_sheets import styles_of_files, styles_of_lists, styles_of_words, styles_with_titles
from messy_sheets.measuring import Measured, measured
from messy_sheets.truth import Style

STYLES = (
    *styles_with_titles.STYLES,
    *styles_of_lists.STYLES,
    *styles_of_files.STYLES,
    *styles_of_words.STYLES,
)
MOST_QUESTIONS = 5


@pytest.fixture(scope="module")
def read() -> dict[str, Measured]:
    return {style.__name__: measured(style()) for style in STYLES}


@pytest.mark.parametrize("style", STYLES, ids=lambda style: style.__name__)
def test_each_sheet(read: dict[str, Measured], style: Style) -> None:
    found = read[style.__name__]
    assert found.dates_wrong == 0
    assert found.questions <= MOST_QUESTIONS
    assert found.cells_right >= 0.99 * found.cells_claimed, found.faults
    # What is told must be claimed, or a reader that claims nothing would do.
    assert found.cells_right >= 0.9 * found.cells_told, found.faults


def test_all_together(read: dict[str, Measured]) -> None:
    columns = sum(found.columns for found in read.values())
    assert sum(found.columns_right for found in read.values()) >= 0.95 * columns
    claimed = sum(found.cells_claimed for found in read.values())
    assert sum(found.cells_right for found in read.values()) >= 0.99 * claimed
