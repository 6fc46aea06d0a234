"""What the comparison says of one supplier."""

from __future__ import annotations

import math
from dataclasses import dataclass

from logbook.adjusted_comparison.lately import LateChange
from logbook.adjusted_comparison.rows import UNKNOWN, Bounds
from logbook.adjusted_comparison.unseen import Unseen
from logbook.kernels.setup_model.levels import Verdict


@dataclass(frozen=True, slots=True)
class OnBacking:
    """One supplier against the reference on one backing.

    Attributes
    ----------
    backing
        Which.
    rate, reference_rate, difference, difference_interval
        As of the whole; the intervals of all suppliers and backings hold together.
    shared_pieces
        Exposure of all suppliers on the jobs compared.
    """

    backing: str
    rate: float
    reference_rate: float
    difference: float
    difference_interval: Bounds
    shared_pieces: float

    @property
    def worse(self) -> bool:
        """Whether worse beyond doubt."""
        return self.difference_interval[0] > 0


@dataclass(frozen=True, slots=True)
class AdjustedSupplier:
    """What can be said of one supplier, against the reference.

    Rates and differences are fractions of pieces, or per stitch for events. For the reference
    there is a rate and no difference.

    Attributes
    ----------
    rate, rate_interval
        On new lots of this supplier, over all pieces of the jobs shared with the reference (for
        the reference: over the jobs shared with any other).
    reference_rate, reference_rate_interval
        The reference's on those same pieces.
    difference, difference_interval
        Rate less the reference's; the intervals of all suppliers hold together.
    standard_error, degrees
        Of the difference, and the degrees of freedom behind it.
    verdict
        None where the two share no jobs.
    pieces_needed, lots_needed
        More pieces, of both suppliers together, and more lots that it would take to judge; 0
        where it is judged, None where no reasonable number would do.
    lot_sd
        Standard deviation of lots of one supplier and backing, in log odds (or log rate); NaN
        where no two lots of one were recorded.
    shared_pieces
        Exposure of all suppliers on the jobs compared: what the rate is averaged over.
    lately
        Of the two suppliers those that have changed in the last weeks: the figures are then of
        those weeks, which the next lots are likelier to be like.
    on_backings
        The same, backing by backing, where all are asked about.
    unseen
        What something that nobody wrote down may do to the verdict.
    withheld
        The verdict that the figures alone would give, where such a thing might undo it.
    notes
        What to keep in mind.
    """

    rate: float = math.nan
    rate_interval: Bounds = UNKNOWN
    reference_rate: float = math.nan
    reference_rate_interval: Bounds = UNKNOWN
    difference: float = math.nan
    difference_interval: Bounds = UNKNOWN
    standard_error: float = math.nan
    degrees: float = math.nan
    verdict: Verdict | None = None
    pieces_needed: int | None = None
    lots_needed: int | None = None
    lot_sd: float = math.nan
    shared_pieces: float = 0.0
    lately: tuple[LateChange, ...] = ()
    on_backings: tuple[OnBacking, ...] = ()
    unseen: Unseen | None = None
    withheld: Verdict | None = None
    notes: tuple[str, ...] = ()

    @property
    def known(self) -> bool:
        """Whether the model says anything of this supplier."""
        return not math.isnan(self.rate)

    @property
    def worse_on(self) -> tuple[OnBacking, ...]:
        """Backings on which it is worse beyond doubt, though there are others; worst first."""
        worse = [each for each in self.on_backings if each.worse and len(self.on_backings) > 1]
        return tuple(sorted(worse, key=lambda each: -each.difference))
