"""Published mixed models as arguments of ``mixed.fit``."""

import csv

import numpy as np
from cases import DATA


def table(case):
    """The case's data: column name -> array of text."""
    name = case.inputs["data_csv"]
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return {column: np.array([row[column] for row in rows]) for column in rows[0]}


def number(data, *names):
    return np.column_stack([data[name].astype(float) for name in names])


def dummies(values, *levels):
    return np.column_stack([values == level for level in levels]).astype(float)


def codes(values):
    return np.unique(values, return_inverse=True)[1]


def ones(data):
    return np.ones((len(next(iter(data.values()))), 1))


def check(case, key, got):
    """Fail unless the named values agree within the case's tolerance, all names asked for."""
    allowed = case.tolerance.get(key, case.tolerance["default"])
    np.testing.assert_allclose(
        np.asarray(got, dtype=float),
        np.array(list(case.expected[key].values()), dtype=float),
        rtol=allowed.get("rel", 0.0),
        atol=allowed.get("abs", 0.0),
        err_msg=f"{case.name}: {key}",
    )


def cbpp(case):
    data = table(case)
    return {
        "family": "binomial",
        "count": data["incidence"].astype(int),
        "exposure": data["size"].astype(int),
        "fixed": np.hstack([ones(data), dummies(data["period"], "2", "3", "4")]),
        "groups": {"herd": data["herd"].astype(int)},
    }


def cbpp_obs(case):
    given = cbpp(case)
    return given | {"groups": {"obs": np.arange(given["count"].size)} | given["groups"]}


def salamander(case):
    data = table(case)
    return {
        "family": "binomial",
        "count": data["Mate"].astype(int),
        "exposure": 1,
        "fixed": np.hstack([ones(data), dummies(data["Cross"], "RW", "WR", "WW")]),
        "groups": {"Female": codes(data["Female"]), "Male": codes(data["Male"])},
    }


def epil(case):
    data = table(case)
    treated = dummies(data["trt"], "progabide")
    base = np.log(number(data, "base") / 4)
    age, fourth = np.log(number(data, "age")), number(data, "V4")
    return {
        "family": "poisson",
        "count": data["y"].astype(int),
        "exposure": 1,
        "fixed": np.hstack([ones(data), base, treated, age, fourth, base * treated]),
        "groups": {"subject": data["subject"].astype(int)},
    }


def offset_lot(case):
    data = table(case)
    return {
        "family": "poisson",
        "count": data["thread_breaks"].astype(int),
        "exposure": data["stitches"].astype(float) / 1000,
        "fixed": np.hstack([ones(data), dummies(data["fabric"], "twill", "woven")]),
        "groups": {"lot": codes(data["lot"])},
    }


def warpbreaks(case):
    data = table(case)
    wool, tension = dummies(data["wool"], "B"), dummies(data["tension"], "M", "H")
    return {
        "family": "poisson",
        "count": data["breaks"].astype(int),
        "exposure": 1,
        "fixed": np.hstack([ones(data), wool, tension, wool * tension]),
        "groups": {"obs": data["obs"].astype(int)},
    }


PUBLISHED = {
    "glmm_binomial_cbpp": cbpp,
    "glmm_binomial_cbpp_obs": cbpp_obs,
    "glmm_bernoulli_salamander": salamander,
    "glmm_poisson_epil": epil,
    "glmm_poisson_offset_lot": offset_lot,
    "glmm_poisson_warpbreaks": warpbreaks,
}
