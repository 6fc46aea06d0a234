import math
from dataclasses import replace

import numpy as np
import pytest

from logbook.kernels.setup_model import Setups, Term, fit
from logbook.kernels.setup_model.prediction import expected

TERMS = (
    Term("level", sd=10.0),
    Term("fabric", ("fabric",), sd=1.5),
    Term("lot", ("lot",), boundary_avoiding=True),
    Term("density on fabric", ("fabric",), slope="density"),
)


def made(runs=400):
    """Runs on four fabrics with backing from five lots."""
    rng = np.random.default_rng(4)
    lot, fabric = rng.integers(0, 5, runs), rng.integers(0, 4, runs)
    trials = rng.integers(10, 200, runs).astype(float)
    eta = -3.0 + 0.3 * fabric + rng.normal(0, 0.5, 5)[lot] + rng.normal(0, 0.4, runs)
    return Setups(
        trials=trials,
        squares=trials**2,
        count=rng.binomial(trials.astype(int), 1 / (1 + np.exp(-eta))).astype(float),
        runs=np.ones(runs),
        factors={"fabric": fabric, "lot": lot},
        slopes={"density": rng.normal(0, 1, runs)},
    )


def test_what_rests_on_a_badly_known_spread_is_less_sure():
    # The drift of a rate with the logarithm of a variance, against refits with that variance given.
    setups = made()
    fitted = fit(setups=setups, terms=TERMS)
    asked = {
        "factors": {
            "fabric": np.array([0, 0]),
            "lot": np.array([0, 3]),
            "supplier": np.array([0, 1]),
        },
        "slopes": {"density": np.zeros(2)},
    }
    got = expected(fit=fitted, **asked)
    group = fitted.layout.groups.index("lot")
    drift = got.drift[:, list(np.flatnonzero(fitted.estimated)).index(group)]
    rates = []
    for step in (-0.2, 0.2):
        given = [
            replace(
                each,
                sd=float(fitted.sds[fitted.layout.groups.index(each.name)])
                * (math.exp(step / 2) if each.name == "lot" else 1.0),
            )
            for each in TERMS
        ]
        moved = fit(setups=setups, terms=given)
        rates.append(expected(fit=moved, **asked).rate)
    assert np.diff(drift) == pytest.approx(np.diff((rates[1] - rates[0]) / 0.4), rel=0.15)
    against = np.array([1.0, -1.0])
    known = (against @ got.gradients) @ (got.carried @ against)
    assert got.variance_of(against) > known
