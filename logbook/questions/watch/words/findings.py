"""One finding in words: where, what, since when, how rare, what it cost, what to look at."""

from __future__ import annotations

import math
from collections.abc import Sequence

from logbook.calendar_weeks import iso_week
from logbook.questions.watch.result import Finding, Values
from logbook.runs.factors import factor_label, level_label
from logbook.vocabulary.cautions import cautions_named
from logbook.vocabulary.first_looks import (
    ANYWHERE,
    AT_THE_MACHINE,
    BETTER,
    EVERYWHERE,
    FIRST_LOOKS,
)
from logbook.wording import money, number, percent, times

REMEDIES = 2
_RAREST = 1000.0
_NAMED_ALONE = frozenset({"machine", "operator", "fabric", "design", "site", "customer", "backing"})
"""Columns whose values say themselves what they are."""


def where(values: Values) -> str:
    """Name a level: ``M3 four-head``, ``Backing lot A2431``."""
    if not values:
        return "The whole shop"
    said = " on ".join(_value(name, value) for name, value in values.items())
    return said[:1].upper() + said[1:]


def short(finding: Finding) -> str:
    """The finding in one line, with nothing to work out."""
    return f"{where(finding.level)}: {what(finding)} since {iso_week(finding.since)}"


def what(finding: Finding) -> str:
    """Say how it departs: ``thread breaks 1.9 times what was to be expected``."""
    label = finding.kind.label.lower()
    if finding.observed == 0:
        return f"no {label}, where {_amount(finding.expected)} were to be expected,"
    if finding.direction == "below":
        return f"{label} down to {percent(finding.ratio, 0)} of what was to be expected"
    return f"{label} {times(finding.ratio)} what was to be expected"


def says(finding: Finding, currency: str) -> str:
    """The finding in full, without what to do."""
    return f"{short(finding)}: {figures(finding, currency)}"


def news(finding: Finding) -> str:
    """The finding in one line, with how it is to be taken: perhaps luck, or better."""
    if finding.grade == "suspected" and finding.known is None:
        return f"Perhaps luck: {short(finding)}"
    return f"{'Better: ' if finding.direction == 'below' else ''}{short(finding)}"


def figures(finding: Finding, currency: str) -> str:
    """What it rests on: counts, how rare it is by luck, money."""
    counted = "events" if finding.kind.measure == "events" else "pieces"
    said = [
        f"{number(finding.observed)} {counted} where "
        f"{_amount(finding.expected)} were to be expected."
    ]
    if rare := rarity(finding):
        said.append(f"{rare}.")
    if cost := in_money(finding, currency):
        said.append(f"{cost}.")
    return " ".join(said)


def rarity(finding: Finding) -> str:
    """Say how often luck alone shows as much; empty where it was not sought."""
    weeks = finding.recurrence_weeks
    if math.isnan(weeks):
        return ""
    if weeks >= _RAREST:
        return f"Luck alone shows this less than once in {number(_RAREST)} weeks"
    return f"Luck alone shows this once in {number(round(weeks))} weeks"


def in_money(finding: Finding, currency: str) -> str:
    """Say what it cost above expectation, or saved; empty where that is not known or nothing."""
    if math.isnan(finding.money) or abs(finding.money) < 0.5:
        return ""
    amount = money(abs(finding.money), currency)
    return f"It has {'cost' if finding.money > 0 else 'saved'} about {amount} so far"


def tells_apart(finding: Finding) -> str | None:
    """Say what else it could be, and what would tell; None where nothing else could."""
    if not finding.confounded_with:
        return None
    others = " or ".join(_inside(each) for each in finding.confounded_with)
    return (
        f"It could as well be {others}: nearly the same runs. To tell them apart, sew one without "
        "the other."
    )


def look_first(finding: Finding) -> tuple[str, ...]:
    """Say where the trade looks first; the makers' instructions come before it."""
    if finding.direction == "below":
        return (BETTER,)
    looks = [FIRST_LOOKS[name] for name in finding.level if name in FIRST_LOOKS][:1]
    first = looks[0] if looks else ANYWHERE if finding.level else EVERYWHERE
    return (first, *finding.kind.remedies[:REMEDIES])


def cautions(*findings: Finding) -> tuple[str, ...]:
    """The cautions that go with the first looks of all these."""
    names: dict[str, None] = {}
    for each in findings:
        if each.direction == "above":
            names |= dict.fromkeys(each.kind.cautions)
            names |= {"moving_needles": None} if set(each.level) & AT_THE_MACHINE else {}
    if not names:
        return ()
    return tuple(each.says for each in cautions_named(*names, "no_safety_certificate"))


def beside(finding: Finding) -> str:
    """What changed beside it, as a sentence; empty where nothing did."""
    return f"Beside it: {_listed(finding.changed_beside)}." if finding.changed_beside else ""


def known(finding: Finding) -> str:
    """Why it is known, as a sentence; empty for news."""
    if finding.known is None:
        return ""
    by = f", {finding.known.by}" if finding.known.by else ""
    how = "An action stands" if finding.known.how == "action" else "Known"
    told = f": {finding.known.what}" if finding.known.what else ""
    return f"{how} since {finding.known.since_week}{by}{told}."


def _value(name: str, value: object) -> str:
    said = level_label(name, value)
    if name in _NAMED_ALONE:
        return said
    return f"{factor_label(name).lower()} {said}"


def _inside(values: Values) -> str:
    return " on ".join(_value(name, value) for name, value in values.items())


def _listed(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{'; '.join(parts[:-1])}; and {parts[-1]}"


def _amount(expected: float) -> str:
    return number(round(expected, 1 if expected < 10 else 0))
