"""Setup factors as the cells know them."""

from __future__ import annotations

from logbook.vocabulary import FACTORS
from logbook.vocabulary.backings import WEIGHT_BANDS
from logbook.vocabulary.factors import DENSITY_BANDS, SPEED_BANDS


def test_every_factor_in_its_order() -> None:
    assert [factor.column for factor in FACTORS] == [
        "fabric",
        "fabric_shade",
        "fabric_sheer",
        "backing",
        "weight_band",
        "backing_layers",
        "backing_shade",
        "backing_supplier",
        "backing_lot",
        "topping",
        "hooping",
        "needle_nm",
        "needle_point",
        "speed_band",
        "density_band",
        "machine",
        "operator",
        "design",
        "site",
    ]


def test_banded_factors_say_what_they_are_cut_from() -> None:
    banded = {factor.column: (factor.cut_from, factor.bands) for factor in FACTORS if factor.bands}
    assert banded == {
        "weight_band": ("backing_gsm", WEIGHT_BANDS),
        "speed_band": ("speed_spm", SPEED_BANDS),
        "density_band": ("density", DENSITY_BANDS),
    }
    assert all(factor.cut_from is None for factor in FACTORS if not factor.bands)


def test_labels_are_words_for_people() -> None:
    labels = [factor.label for factor in FACTORS]
    assert len(set(labels)) == len(labels)
    assert not any("_" in label for label in labels)
