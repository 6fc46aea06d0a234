"""Cautions: there for every danger of the work, deferring to the maker and the law."""

from __future__ import annotations

import pytest

from logbook.vocabulary import CAUTIONS
from logbook.vocabulary.cautions import BROKEN_NEEDLE_HELD

SAYS = {caution.name: caution.says for caution in CAUTIONS}


def test_every_danger_has_its_caution() -> None:
    assert list(SAYS) == [
        "moving_needles",
        "broken_needle",
        "heat",
        "spray_adhesive",
        "magnetic_frames",
        "skin_and_infants",
        "no_safety_certificate",
    ]
    assert all(caution.when and caution.says.endswith(".") for caution in CAUTIONS)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("moving_needles", ("stop the machine", "maker's instructions", "local codes")),
        ("broken_needle", ("every part", "Children's", "metal detection")),
        ("heat", ("maker", "scrap first")),
        ("spray_adhesive", ("ventilated", "flammable", "safety data")),
        ("magnetic_frames", ("pacemakers", "maker's instructions")),
        ("skin_and_infants", ("law",)),
        ("no_safety_certificate", ("no safety certificate",)),
    ],
)
def test_a_caution_says_what_matters(name: str, words: tuple[str, ...]) -> None:
    assert all(word in SAYS[name] for word in words)
    assert "\n" not in SAYS[name]


def test_a_held_run_says_how_it_is_released() -> None:
    for word in ("held", "every part", "metal detection", "amend the run", "machine stopped"):
        assert word in BROKEN_NEEDLE_HELD
