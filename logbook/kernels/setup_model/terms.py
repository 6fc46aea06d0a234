"""Terms of the model, and which coefficient each row takes of each of them.

Every level of every term has a coefficient of its own, none is left out as the reference: the
priors, not a coding, settle what the data leave open. A row takes at most one coefficient of a
term, so that the normal equations need no matrix of rows: see :mod:`.crosstabs`.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from logbook.errors import KernelError
from logbook.kernels.arguments import BoolArray, FloatArray
from logbook.kernels.setup_model.blocks import Covariance
from logbook.kernels.setup_model.setups import NO_LEVEL, IntArray


@dataclass(frozen=True, slots=True)
class Term:
    """One term: a factor, factors in combination, or a slope within them.

    Attributes
    ----------
    name
        Names its standard deviation; terms of one name share one.
    factors
        Names of factors; none for an intercept or an overall slope.
    slope
        Name of a measured quantity that multiplies the coefficients.
    sd
        Standard deviation of the prior, on the scale of log odds; None: estimated.
    boundary_avoiding
        Whether an estimated one is kept from zero (see :mod:`.variances`).
    """

    name: str
    factors: tuple[str, ...] = ()
    slope: str | None = None
    sd: float | None = None
    boundary_avoiding: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Rows as codes: ``codes[t]`` (m,) within term t, its number of levels where none applies."""

    codes: tuple[IntArray, ...]
    slopes: tuple[FloatArray | None, ...]

    def some(self, picked: BoolArray | IntArray) -> Rows:
        """The rows that a mask, or positions, pick."""
        return Rows(
            tuple(codes[picked] for codes in self.codes),
            tuple(None if slope is None else slope[picked] for slope in self.slopes),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Where each term's coefficients are.

    Attributes
    ----------
    terms
        The terms, those without any coefficient left out.
    starts
        (T + 1,) first coefficient of each term, and the number of all coefficients.
    lookups
        For each term, joint code of its factors → position within the term.
    levels
        Levels of each factor.
    groups
        Names of the standard deviations, in order of first use.
    group_of
        (P,) position in ``groups`` of each coefficient.
    """

    terms: tuple[Term, ...]
    starts: IntArray
    lookups: tuple[IntArray, ...]
    levels: Mapping[str, int]
    groups: tuple[str, ...]
    group_of: IntArray

    @property
    def size(self) -> int:
        """How many coefficients there are."""
        return int(self.starts[-1])

    def place(self, name: str) -> slice:
        """Coefficients of the first term of that name; empty where there is none."""
        for index, term in enumerate(self.terms):
            if term.name == name:
                return slice(int(self.starts[index]), int(self.starts[index + 1]))
        return slice(0, 0)

    def rows(
        self,
        factors: Mapping[str, IntArray],
        slopes: Mapping[str, FloatArray],
        *,
        like: Rows | None = None,
        but: Collection[str] = (),
    ) -> Rows:
        """Find which coefficients rows take; a combination not seen in the fit takes none.

        ``like`` are rows already found that are the same ``but`` for some factors: what those do
        not touch is not looked up again.
        """
        found = [
            self.codes(index, factors)
            if like is None or not set(but).isdisjoint(term.factors)
            else like.codes[index]
            for index, term in enumerate(self.terms)
        ]
        multipliers = [slopes[term.slope] if term.slope else None for term in self.terms]
        return Rows(tuple(found), tuple(multipliers))

    def codes(self, index: int, factors: Mapping[str, IntArray]) -> IntArray:
        """Position of each row within one term, (m,); its number of levels where none applies."""
        joint = joint_codes(self.terms[index].factors, factors, self.levels)
        if joint is None:
            joint = np.zeros(_row_count(factors), dtype=np.intp)
        return self.lookups[index][joint]

    def predict(
        self, rows: Rows, coefficients: FloatArray, terms: Sequence[int] | None = None
    ) -> FloatArray:
        """Sum of effects of each row, (m,), of some terms by their place where they are named."""
        total = np.zeros(rows.codes[0].size)
        for index in range(len(self.terms)) if terms is None else terms:
            codes, slope = rows.codes[index], rows.slopes[index]
            own = np.append(coefficients[self.starts[index] : self.starts[index + 1]], 0.0)
            total += own[codes] if slope is None else own[codes] * slope
        return total

    def gather(self, rows: Rows, weights: FloatArray) -> FloatArray:
        """``X' weights``: what of the rows falls to each coefficient, (P,)."""
        parts = []
        for index, (codes, slope) in enumerate(zip(rows.codes, rows.slopes, strict=True)):
            count = int(self.starts[index + 1] - self.starts[index])
            weighed = weights if slope is None else weights * slope
            parts.append(np.bincount(codes, weights=weighed, minlength=count + 1)[:count])
        return np.concatenate(parts)

    def leverage(self, rows: Rows, covariance: Covariance) -> FloatArray:
        """``x' C x`` of each row, (m,); coefficients without variance cost nothing."""
        total = np.zeros(rows.codes[0].size)
        variances = covariance.diagonal()
        own = np.append(variances[covariance.apart], 0.0)
        border = np.pad(covariance.border, (0, 1))
        inner = np.pad(covariance.inner, (0, 1))
        among = np.full(self.size, -1)
        among[covariance.others] = np.arange(covariance.others.size)
        apart = self.starts[:-1] == covariance.apart.start
        at = [
            codes if alone else np.append(among[start:stop], -1)[codes]
            for codes, alone, start, stop in zip(
                rows.codes, apart, self.starts[:-1], self.starts[1:], strict=True
            )
        ]
        used = np.flatnonzero(np.add.reduceat(variances, self.starts[:-1]) > 0)
        for index, one in enumerate(used):
            for other in used[index:]:
                if one == other:
                    part = own[at[one]] if apart[one] else inner[at[one], at[one]]
                elif apart[one]:
                    part = 2.0 * border[at[other], at[one]]
                elif apart[other]:
                    part = 2.0 * border[at[one], at[other]]
                else:
                    part = 2.0 * inner[at[one], at[other]]
                for slope in (rows.slopes[one], rows.slopes[other]):
                    part = part if slope is None else part * slope
                total += part
        return total


def lay_out(
    terms: Sequence[Term], factors: Mapping[str, IntArray], slopes: Mapping[str, FloatArray]
) -> Layout:
    """Give every level, and every combination that occurs, a coefficient.

    Raises
    ------
    KernelError
        A term names a factor or a quantity that is not there.
    """
    levels = {name: int(codes.max(initial=NO_LEVEL)) + 1 for name, codes in factors.items()}
    kept, lookups, sizes = [], [], []
    for term in terms:
        wanted = [*term.factors, *([term.slope] if term.slope else [])]
        if missing := [name for name in wanted if name not in factors and name not in slopes]:
            raise KernelError(f"The term {term.name!r} needs {missing[0]!r}, which is not there.")
        joint = joint_codes(term.factors, factors, levels)
        room = int(np.prod([levels[name] for name in term.factors], dtype=np.int64))
        seen = np.zeros(room + 1, dtype=bool)
        seen[0 if joint is None else joint] = True
        count = int(seen[:room].sum())
        if count == 0:
            continue
        lookup = np.full(room + 1, count, dtype=np.intp)
        lookup[:room][seen[:room]] = np.arange(count)
        kept.append(term)
        lookups.append(lookup)
        sizes.append(count)
    groups = tuple(dict.fromkeys(term.name for term in kept))
    group_of = np.repeat([groups.index(term.name) for term in kept], sizes)
    starts = np.concatenate([[0], np.cumsum(sizes)]).astype(np.intp)
    return Layout(tuple(kept), starts, tuple(lookups), levels, groups, group_of)


def joint_codes(
    names: Sequence[str], factors: Mapping[str, IntArray], levels: Mapping[str, int]
) -> IntArray | None:
    """One code for a combination of levels; the number of combinations where one does not apply.

    None for no factors at all.
    """
    if not names:
        return None
    room = int(np.prod([levels[name] for name in names], dtype=np.int64))
    joint = np.zeros(_row_count(factors), dtype=np.intp)
    for name in names:
        joint *= levels[name]
        joint += factors[name]
    for name in names:
        codes = factors[name]
        if codes.min(initial=0) < 0 or codes.max(initial=0) >= levels[name]:
            joint[(codes < 0) | (codes >= levels[name])] = room
    return joint


def _row_count(factors: Mapping[str, IntArray]) -> int:
    return int(next(iter(factors.values())).size)
