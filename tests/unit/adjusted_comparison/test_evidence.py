"""Evidence of suggested changes: by themselves, and beside better ones."""

import pytest

from logbook.adjusted_comparison.evidence import ExpectedSaving, evidence_together


def saving(*, told: float = 2.0, chance: float = 0.99, error: float = 1.0) -> ExpectedSaving:
    return ExpectedSaving(
        expected=told + 0.5,
        error=error,
        interval=(told - 1.5, told + 2.5),
        told=told,
        chance_better=chance,
    )


@pytest.mark.parametrize(
    ("told", "chance", "error", "evidence"),
    [
        (2.0, 0.99, 1.0, "strong"),
        (2.0, 0.92, 1.0, "strong"),
        (2.0, 0.91, 1.0, "fair"),
        (0.5, 0.99, 1.0, "fair"),
        (2.0, 0.69, 1.0, "thin"),
        (0.0, 0.99, 1.0, "thin"),
        (-0.1, 0.99, 1.0, "thin"),
        (0.1, 1.0, 0.0, "strong"),
    ],
)
def test_evidence_wants_a_chance_and_a_saving_that_is_not_all_luck(
    told: float, chance: float, error: float, evidence: str
) -> None:
    assert saving(told=told, chance=chance, error=error).evidence == evidence


def test_beside_the_best_one_more_is_wanted() -> None:
    savings = [saving(chance=chance) for chance in (0.8, 0.92, 0.94, 0.96)]
    alone = [each.evidence for each in savings]
    assert alone == ["fair", "strong", "strong", "strong"]
    assert evidence_together(savings, alone) == ["fair", "strong", "fair", "strong"]
    assert evidence_together([], []) == []


def test_one_that_was_doubted_does_not_count_as_the_best() -> None:
    savings = [saving(chance=0.99), saving(chance=0.92)]
    assert evidence_together(savings, ["thin", "strong"]) == ["thin", "strong"]
