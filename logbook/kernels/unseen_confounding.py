"""How strong something unseen would have to be to be behind a ratio of rates.

VanderWeele & Ding (2017, Ann Intern Med 167:268-274), resting on the bound of Ding & VanderWeele
(2016, Epidemiology 27:368-377). Held to the worked examples of both in
``tests/reference/test_e_values.py``.
"""

from __future__ import annotations

import math

from logbook.errors import KernelError


def e_value(*, ratio: float, true: float = 1.0) -> float:
    """The E-value of a ratio.

    Parameters
    ----------
    ratio
        Of two rates, above zero.
    true
        The ratio that it would be moved to.

    Returns
    -------
    float
        An unseen difference would have to go with the group, and with the outcome, at least so
        many times each, beyond all that is allowed for, to be all there is behind the ratio; 1
        where there is nothing to explain. ``r + sqrt(r (r - 1))`` with ``r`` the larger of
        ``ratio / true`` and its inverse.
    """
    if not (ratio > 0 and true > 0):
        raise KernelError("A ratio of rates lies above zero.", "Give the rates' ratio.")
    apart = max(ratio / true, true / ratio)
    return apart + math.sqrt(apart * (apart - 1.0))


def e_value_of_interval(*, lower: float, upper: float, true: float = 1.0) -> float:
    """The E-value of the bound of an interval that is nearer ``true``; 1 where it holds that."""
    if lower <= true <= upper:
        return 1.0
    return e_value(ratio=lower if lower > true else upper, true=true)
