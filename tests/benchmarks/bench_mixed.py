"""How long a mixed model takes, against a plain regression of the same rows in the same run.

By hand: ``pytest tests/benchmarks/bench_mixed.py -s``, once as it is and once with
``OPENBLAS_NUM_THREADS=1`` in the environment: on few or busy cores the threads of the linear
algebra wait for one another longer than they work. Nothing here fails for being slow.
"""

from __future__ import annotations

import sys
import time
import warnings
from typing import Any

import numpy as np
import pytest

from logbook.kernels import mixed

with warnings.catch_warnings():
    # statsmodels builds docstrings and touches pandas options on import; not our business.
    warnings.simplefilter("ignore")
    import statsmodels.api as sm

pytestmark = pytest.mark.benchmark

COLUMNS = 12
LEVELS = {"lot": 60, "design": 200, "machine": 8}
SD = {"lot": 0.5, "design": 0.4, "machine": 0.2}


def made_up_cells(rows: int) -> tuple[dict[str, Any], np.ndarray]:
    """Cells of pieces with the coefficients that made them."""
    generator = np.random.default_rng(7)
    groups = {name: generator.integers(size, size=rows) for name, size in LEVELS.items()}
    fixed = generator.integers(2, size=(rows, COLUMNS)).astype(float)
    fixed[:, 0] = 1.0
    true = np.concatenate([[-3.5], generator.normal(scale=0.3, size=COLUMNS - 1)])
    eta = fixed @ true
    for name, codes in groups.items():
        eta += SD[name] * generator.normal(size=LEVELS[name])[codes]
    exposure = generator.integers(20, 200, size=rows)
    count = generator.binomial(exposure, 1 / (1 + np.exp(-eta)))
    given = {"count": count, "exposure": exposure, "fixed": fixed, "groups": groups}
    return {"family": "binomial"} | given, true


@pytest.mark.parametrize("rows", [2_000, 20_000, 200_000])
def test_mixed_fit_against_plain_regression(rows: int) -> None:
    given, true = made_up_cells(rows)
    start = time.perf_counter()
    good = given["exposure"] - given["count"]
    sm.GLM(np.column_stack([given["count"], good]), given["fixed"], sm.families.Binomial()).fit()
    plain = time.perf_counter() - start
    start = time.perf_counter()
    fit = mixed.fit(**given)
    ours = time.perf_counter() - start
    sys.stdout.write(
        f"\n{rows:>7} cells: plain regression {plain:.2f} s, mixed model {ours:.2f} s, "
        f"{ours / plain:.1f} times\n"
    )
    assert fit.converged
    assert fit.sd["lot"] == pytest.approx(SD["lot"], rel=0.4)
    assert (np.abs(fit.fixed - true)[1:] < 5 * fit.fixed_se[1:]).all()


@pytest.mark.parametrize("rows", [2_000, 20_000])
def test_a_level_a_row_beside_lots(rows: int) -> None:
    given, _ = made_up_cells(rows)
    groups = {"row": np.arange(rows), "lot": given["groups"]["lot"]}
    start = time.perf_counter()
    fit = mixed.fit(**given | {"groups": groups})
    sys.stdout.write(f"\n{rows:>7} cells, a level a row: {time.perf_counter() - start:.2f} s\n")
    assert fit.converged
