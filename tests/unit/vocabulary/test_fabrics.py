"""Fabrics: whole, and each spelling of one class only."""

from __future__ import annotations

from collections import Counter

import pytest

from logbook.vocabulary import FABRICS
from logbook.vocabulary.choices import normalise
from logbook.vocabulary.fabrics import FABRIC_ATTRIBUTES, Fabric, fabric_understood

EACH = pytest.mark.parametrize("fabric", FABRICS, ids=lambda fabric: fabric.name)


@EACH
def test_attributes_are_values_of_their_lists(fabric: Fabric) -> None:
    stretch, pile, sheerness = FABRIC_ATTRIBUTES
    assert fabric.stretch in stretch.values
    assert fabric.pile in pile.values
    assert fabric.sheerness in sheerness.values
    assert 0 < fabric.gsm_low < fabric.gsm_high
    assert fabric.usual_backing
    assert fabric.usual_topping
    assert fabric.usual_needle


def test_no_spelling_belongs_to_two_fabrics() -> None:
    spellings = Counter(
        spelling
        for fabric in FABRICS
        for spelling in {normalise(fabric.name), normalise(fabric.label), *fabric.synonyms}
    )
    assert [spelling for spelling, times in spellings.items() if times > 1] == []
    assert all(normalise(spelling) == spelling for spelling in spellings)


@EACH
def test_every_spelling_is_understood(fabric: Fabric) -> None:
    for written in (fabric.name, fabric.label, *fabric.synonyms):
        assert fabric_understood(written.upper()) is fabric


def test_another_cloth_is_no_fault() -> None:
    assert fabric_understood("neoprene") is None
