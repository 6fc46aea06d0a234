"""Cautions and lookalikes: every kind has its cautions, and no remedy that can hurt lacks one."""

from __future__ import annotations

import pytest

from logbook.vocabulary import DEFECT_KINDS, DefectKind
from logbook.vocabulary.cautions import cautions_named
from logbook.vocabulary.defects.lookalikes import LOOKALIKES, easily_taken_for

NEEDED = {
    "stop the machine": "moving_needles",
    "stopped": "moving_needles",
    "isolate": "moving_needles",
    "fusible": "heat",
    "press by": "heat",
    "steam": "heat",
    "sprayed": "spray_adhesive",
    "spray adhesive": "spray_adhesive",
    "magnetic": "magnetic_frames",
    "part of the needle": "broken_needle",
}
kinds = pytest.mark.parametrize("kind", DEFECT_KINDS, ids=lambda kind: kind.name)


@kinds
def test_no_remedy_that_can_hurt_stands_without_its_caution(kind: DefectKind) -> None:
    said = " ".join(kind.remedies).lower()
    needed = {caution for words, caution in NEEDED.items() if words in said}
    assert needed <= {caution.name for caution in cautions_named(*kind.cautions)}


def test_lookalikes_are_kinds_of_the_trade_and_pairs_are_named_once() -> None:
    names = {kind.name for kind in DEFECT_KINDS}
    pairs = [frozenset((each.one, each.other)) for each in LOOKALIKES]
    assert all(len(pair) == 2 and pair <= names for pair in pairs)
    assert len(set(pairs)) == len(pairs)


def test_a_pair_is_told_from_both_sides() -> None:
    ((gaps_tell),) = [tell for other, tell in easily_taken_for("gaps") if other == "coverage"]
    ((coverage_tell),) = [tell for other, tell in easily_taken_for("coverage") if other == "gaps"]
    assert gaps_tell == coverage_tell
