"""Looks for what is different, where and since when: findings one after another, then the known."""

from __future__ import annotations

import math
from dataclasses import replace

from logbook.calendar_weeks import days_of
from logbook.costing import costed
from logbook.kernels.successive_scan import Departure, departures
from logbook.questions.watch.data import WatchData
from logbook.questions.watch.findings import Made, finding_of, weeks_between
from logbook.questions.watch.known import Known, known_in
from logbook.questions.watch.levels import COLUMNS, PAIRS
from logbook.questions.watch.panels import Record, panels_of, record_of
from logbook.questions.watch.result import FOUND, Finding, LookedAt, WatchResult
from logbook.shop import Shop


def analyse(data: WatchData, *, week: str, shop: Shop) -> WatchResult:
    """Look for departures from what was to be expected.

    Parameters
    ----------
    data
        The record up to a day.
    week
        The week that the day lies in.
    shop
        Kinds and costs.

    Returns
    -------
    WatchResult
        Findings that are news, found before suspected, then those that are known with their
        course; nothing was looked at where the record is too short.

    Notes
    -----
    What was to be expected is learnt from the runs before the longest window alone
    (:mod:`logbook.kernels.expected_counts`), the scan is :mod:`logbook.kernels.successive_scan`.
    """
    record = record_of(data, shop.kinds)
    if record is None or not record.kinds:
        return WatchResult(week, data.until, shop.currency, LookedAt(), ())
    money = costed(data.cells, kinds=shop.kinds, shop=shop)
    made = Made(record, {each.kind.name: each for each in (*money.kinds, *money.apart)}, data.until)
    known = known_in(record, data)
    found = departures(
        panels=panels_of(record, made.costs),
        taken_in=[each.taken_in(record) for each in known],
        draws=record.draws,
    ).found
    standing = [each for each in known if each.until is None]
    course = [_known_finding(made, each) for each in standing]
    of_old = {each.ref for each in course}
    told = _once([_finding(made, each) for each in found])
    news = sorted((each for each in told if each.ref not in of_old), key=_order)
    return WatchResult(
        week=week,
        until=data.until,
        currency=shop.currency,
        looked_at=_looked_at(record),
        findings=(*news, *course),
    )


def _looked_at(record: Record) -> LookedAt:
    return LookedAt(
        kinds=len(record.kinds),
        columns=len(COLUMNS) + len(PAIRS),
        levels=sum(len(each) for each in record.levels),
        windows=len(record.windows),
    )


def _finding(made: Made, departure: Departure) -> Finding:
    record = made.record
    level = record.levels[departure.panel][departure.level]
    others = [record.levels[panel][place] for panel, place in departure.confounded]
    return finding_of(
        made,
        panel=departure.panel,
        kind=departure.kind,
        level=level,
        window=departure.window,
        recurrence=departure.recurrence,
        confounded=[each.values for each in others if each.values and each.values != level.values],
        grade="found" if departure.recurrence >= FOUND else "suspected",
    )


def _known_finding(made: Made, known: Known) -> Finding:
    since = days_of(known.since)[0]
    found = finding_of(
        made,
        panel=int(known.level.by_job),
        kind=[each.name for each in made.record.kinds].index(known.kind),
        level=known.level,
        window=weeks_between(since, made.until),
        recurrence=known.recurrence_weeks,
        confounded=[],
        grade=known.grade,
        settled=True,
    )
    return replace(found, direction=known.direction, known=known.known_as)


def _order(each: Finding) -> tuple[bool, bool, float]:
    """Found before suspected, worse before better, dear before cheap."""
    money = 0.0 if math.isnan(each.money) else abs(each.money)
    return each.grade != "found", each.direction == "below", -money


def _once(found: list[Finding]) -> list[Finding]:
    """Name each departure once: what is left of a great one may come up again."""
    kept: dict[str, Finding] = {}
    for each in found:
        kept.setdefault(each.ref, each)
    return list(kept.values())
