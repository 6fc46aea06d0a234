"""A fit that the machine has no memory for is refused before it begins."""

import numpy as np
import pytest

from logbook.adjusted_comparison import affordable
from logbook.adjusted_comparison.affordable import bytes_wanted, fit_affordable, free_bytes
from logbook.errors import AnalysisError
from logbook.kernels.setup_model import Setups, Term

TERMS = (Term("level", sd=10.0), Term("design", ("design",)), Term("lot", ("lot",)))


def record(runs: int = 400, levels: int = 50) -> Setups:
    rng = np.random.default_rng(1)
    trials = np.full(runs, 40.0)
    return Setups(
        trials=trials,
        squares=trials**2,
        count=rng.binomial(40, 0.1, runs).astype(float),
        runs=np.ones(runs),
        factors={name: rng.integers(0, levels, runs) for name in ("design", "lot")},
    )


def test_it_says_what_it_takes_what_is_free_and_what_helps(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(affordable, "free_bytes", lambda: 1e5)
    with pytest.raises(AnalysisError, match=r"400 rows takes about \d.* GB .* are free") as problem:
        fit_affordable(setups=record(), terms=TERMS)
    assert "Narrow the dates" in str(problem.value.hint)
    monkeypatch.setattr(affordable, "free_bytes", lambda: None)
    assert fit_affordable(setups=record(), terms=TERMS).converged


def test_more_effects_and_more_fits_take_more() -> None:
    few, many = (bytes_wanted(record(4_000, levels), TERMS) for levels in (50, 2_000))
    assert many > few + 3 * 8 * 1_000**2
    assert bytes_wanted(record(), TERMS, kept=7) > bytes_wanted(record(), TERMS)


def test_the_free_memory_of_this_machine_is_a_figure_or_unknown() -> None:
    free = free_bytes()
    assert free is None or free > 1e6
