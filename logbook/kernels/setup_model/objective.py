"""What a fit makes as large as it can: the aim of verdicts, and that of published cases.

Verdicts rest on restricted quasi-likelihood: runs may differ beyond counting, and standard
deviations come from the working model. For rare or single pieces that understates how far groups
differ (Breslow & Lin 1995, Biometrika 82:81-91), in exchange for steps that never fail on ten
thousand runs. Published mixed models are fitted by maximum likelihood with the Laplace
approximation; the same steps reach it where the pull of the approximation's determinant is added.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Objective:
    """What is maximised, and when the steps may stop.

    Attributes
    ----------
    laplace
        Whether standard deviations maximise the marginal likelihood by Laplace's approximation,
        with the coefficients of given terms; else the restricted likelihood of the working model.
    jeffreys
        Whether half the log determinant of the information is added to the likelihood (Firth
        1993, Biometrika 80:27-38), for models without estimated terms.
    spread_prior
        Scale of a half-normal prior on every estimated standard deviation; infinite for none.
    overdispersed
        Whether runs may differ beyond counting.
    calibrated
        Whether the level is moved at the end so that fitted counts add up to those observed.
    smallest_sd, largest_sd
        Bounds of estimated standard deviations.
    still, most_iterations
        A fit has settled when no spread, relative to itself, nor any row's sum of effects moves
        more in a step than ``still``; it stops unsettled after so many steps.
    """

    laplace: bool = False
    jeffreys: bool = False
    spread_prior: float = 0.7
    overdispersed: bool = True
    calibrated: bool = True
    smallest_sd: float = 0.02
    largest_sd: float = 3.0
    still: float = 0.03
    most_iterations: int = 30


RESTRICTED = Objective()
LAPLACE = Objective(
    laplace=True,
    spread_prior=float("inf"),
    overdispersed=False,
    calibrated=False,
    smallest_sd=1e-4,
    largest_sd=20.0,
    still=0.003,
    most_iterations=80,
)
