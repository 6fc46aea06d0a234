"""The statistics: arrays in, frozen fit out.

``intervals``     how sure is a rate, or a difference of two rates
``limits``        control charts, over-dispersion, run rules
``strata``        two suppliers compared like for like (Mantel-Haenszel)
``multiplicity``  many comparisons at once
``power``         how many pieces a fair trial needs, each for itself
``trials``        a fair trial of one change in pairs of runs: planned, judged, watched
``places``        whether marks sit in denser places than the stitches do
``shares``        whether one place takes more than its share of events
``shrunken_ratios``  observed over expected counts, drawn towards 1 as far as luck explains them
``funnel_limits``    how far such ratios stray by luck, small levels and large
``mixed``         rates with lots, designs and machines as random effects

Kernels know numpy arrays, not frames, take every argument by keyword, and touch neither
disk nor screen. What cannot be said is NaN in the result; what cannot be true in the
arguments raises :class:`logbook.errors.KernelError`.
"""
