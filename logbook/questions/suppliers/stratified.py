"""A supplier against the reference on the jobs that both have: Mantel-Haenszel over strata."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from logbook.kernels import intervals, strata
from logbook.kernels.count_series import Measure
from logbook.kernels.strata import RateComparison, RiskComparison
from logbook.questions.suppliers.jobs import Counted, CountsByJob, Job, total

HETEROGENEOUS_BELOW = 0.05
"""The p-value of the homogeneity test below which the difference is said to vary by job."""

Bounds: TypeAlias = tuple[float, float]
Confounding: TypeAlias = Literal["reversed", "wiped_out"]


@dataclass(frozen=True, slots=True)
class Difference:
    """Supplier minus reference, per piece or per stitch, with what it rests on."""

    estimate: float
    interval: Bounds
    supplier: Counted
    reference: Counted

    @property
    def excludes_zero(self) -> bool:
        """Whether the interval leaves zero out."""
        lower, upper = self.interval
        return lower > 0 or upper < 0


@dataclass(frozen=True, slots=True)
class JobDifference:
    """The difference on one job."""

    job: Job
    difference: Difference


@dataclass(frozen=True, slots=True)
class StratifiedCheck:
    """What the plain check over strata says of one supplier.

    Attributes
    ----------
    fit
        Mantel-Haenszel figures over the shared jobs; NaN throughout where none is shared.
    jobs
        How many jobs are shared.
    crude
        Difference over all pieces, whatever the jobs.
    like_for_like
        Mantel-Haenszel difference over the shared jobs.
    confounding
        ``reversed`` where crude and like for like point opposite ways and at least one of them
        is more than luck; ``wiped_out`` where a clear crude difference is none like for like.
    extremes
        Where the difference varies by job: the job furthest up and the one furthest down.
    """

    fit: RiskComparison | RateComparison
    jobs: int
    crude: Difference
    like_for_like: Difference
    confounding: Confounding | None
    extremes: tuple[JobDifference, ...]

    @property
    def heterogeneous(self) -> bool:
        """Whether the difference is not the same on every job."""
        return self.fit.homogeneity_p < HETEROGENEOUS_BELOW


def compare_over_strata(
    counts: CountsByJob, supplier: str, reference: str, *, measure: Measure, level: float
) -> StratifiedCheck:
    """Set a supplier against the reference.

    Parameters
    ----------
    counts
        What was counted.
    supplier, reference
        Names in it.
    measure
        Pieces among pieces, or events over stitches.
    level
        Two-sided confidence level.
    """
    ours, theirs = counts.jobs[supplier], counts.jobs[reference]
    shared = sorted((job for job in ours if job in theirs), key=lambda job: job.order)
    a, b = [ours[job] for job in shared], [theirs[job] for job in shared]
    fit = _over_jobs(a, b, measure, level)
    like_for_like = Difference(*_difference_of(fit), total(a), total(b))
    crude = _difference(counts.total_of(supplier), counts.total_of(reference), measure, level)
    # Only looked at where the jobs differ: there can be thousands of them.
    by_job = [
        JobDifference(job, _difference(ours[job], theirs[job], measure, level))
        for job in (shared if fit.homogeneity_p < HETEROGENEOUS_BELOW else ())
    ]
    return StratifiedCheck(
        fit=fit,
        jobs=len(shared),
        crude=crude,
        like_for_like=like_for_like,
        confounding=confounding_of(crude, like_for_like),
        extremes=_extremes(by_job, like_for_like.estimate, measure),
    )


def confounding_of(crude: Difference, like_for_like: Difference) -> Confounding | None:
    """Say whether the crude difference leads astray.

    Opposite signs mislead where either difference is clear, or where the crude one lies outside
    the like-for-like interval: two small differences either side of zero are luck. A clear
    crude difference is wiped out where the like-for-like one is not clear and its interval
    leaves the crude one out: a wide interval alone says only that there is little to go by.
    """
    lower, upper = like_for_like.interval
    outside = crude.estimate < lower or crude.estimate > upper
    if crude.estimate * like_for_like.estimate < 0:
        return "reversed" if crude.excludes_zero or like_for_like.excludes_zero or outside else None
    return (
        "wiped_out" if crude.excludes_zero and not like_for_like.excludes_zero and outside else None
    )


def _over_jobs(
    a: Sequence[Counted], b: Sequence[Counted], measure: Measure, level: float
) -> RiskComparison | RateComparison:
    count_a, exposure_a = [each.count for each in a], [each.exposure for each in a]
    count_b, exposure_b = [each.count for each in b], [each.exposure for each in b]
    if measure == "pieces":
        return strata.risk(
            count_a=count_a, trials_a=exposure_a, count_b=count_b, trials_b=exposure_b, level=level
        )
    return strata.rate(
        count_a=count_a, exposure_a=exposure_a, count_b=count_b, exposure_b=exposure_b, level=level
    )


def _difference_of(fit: RiskComparison | RateComparison) -> tuple[float, Bounds]:
    if isinstance(fit, RiskComparison):
        return fit.risk_difference, (fit.risk_difference_lower, fit.risk_difference_upper)
    return fit.rate_difference, (fit.rate_difference_lower, fit.rate_difference_upper)


def _difference(a: Counted, b: Counted, measure: Measure, level: float) -> Difference:
    """Two groups without strata, by the square-and-add of their single intervals.

    Of two Wilson intervals (Newcombe 1998, Stat Med 17:873-890, method 10), or for events of two
    Garwood ones (Zou & Donner 2008, Stat Med 27:1693-1702): unlike the large-sample interval of
    one stratum it has a width where one group saw no event.
    """
    if measure == "pieces":
        found = intervals.proportion_difference(
            count_a=a.count, trials_a=a.exposure, count_b=b.count, trials_b=b.exposure, level=level
        )
        return Difference(found.difference, (found.lower, found.upper), a, b)
    ours = intervals.rate(count=a.count, exposure=a.exposure, level=level)
    theirs = intervals.rate(count=b.count, exposure=b.exposure, level=level)
    apart = ours.estimate - theirs.estimate
    down = math.hypot(ours.estimate - ours.lower, theirs.upper - theirs.estimate)
    up = math.hypot(ours.upper - ours.estimate, theirs.estimate - theirs.lower)
    return Difference(apart, (apart - down, apart + up), a, b)


def _extremes(
    by_job: Sequence[JobDifference], common: float, measure: Measure
) -> tuple[JobDifference, ...]:
    """Return the jobs furthest above and furthest below the common difference.

    Distance is counted in standard errors at the job's pooled rate, so that a small job with no
    events by luck does not stand out. Jobs without events, or with nothing else, are left out.
    """
    told = [each for each in by_job if _standard_error(each.difference, measure) > 0]

    def off(each: JobDifference) -> float:
        return (each.difference.estimate - common) / _standard_error(each.difference, measure)

    return (max(told, key=off), min(told, key=off)) if len(told) > 1 else ()


def _standard_error(difference: Difference, measure: Measure) -> float:
    both = total((difference.supplier, difference.reference))
    pooled = both.count / both.exposure
    spread = pooled * (1 - pooled) if measure == "pieces" else pooled
    return math.sqrt(
        spread * (1 / difference.supplier.exposure + 1 / difference.reference.exposure)
    )
