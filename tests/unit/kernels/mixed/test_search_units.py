"""The search's units stay finite where rows have lost their weight."""

from __future__ import annotations

import numpy as np

from logbook.kernels.mixed.search import _root_of_units


def test_a_singular_information_still_gives_units() -> None:
    """As met on the way to separation: the second column adds nothing to the first."""
    singular = np.array([[8.26802233, 4.13401116], [4.13401116, 2.06700558]])
    root = _root_of_units(singular)
    assert np.isfinite(root).all()
    np.testing.assert_allclose(root.T @ root, singular, rtol=1e-5)


def test_a_sound_information_is_left_as_it_is() -> None:
    sound = np.array([[4.0, 1.0], [1.0, 3.0]])
    np.testing.assert_allclose(_root_of_units(sound).T @ _root_of_units(sound), sound, rtol=1e-12)
