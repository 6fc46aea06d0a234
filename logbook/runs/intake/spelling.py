"""Open lists: the same name in another spelling becomes the known one; a close one is told."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import polars as pl

from logbook.runs.column import Column
from logbook.runs.columns import columns_with
from logbook.vocabulary.own_columns import Own

MOST_NOTES = 12
"""Of each sort and column; a sheet with more has another trouble than spelling."""
SHORTEST_WORD = 4
"""In words shorter than this one letter tells names apart ("line A", "line B")."""
NAMES_SHOWN = 5


@dataclass(frozen=True, slots=True, eq=False)
class Spelled:
    """Runs with their names in the known spellings, and what was changed or looks doubtful."""

    runs: pl.DataFrame
    notes: tuple[str, ...]


def match_spellings(
    runs: pl.DataFrame, known: Mapping[str, Sequence[str]], own: Sequence[Own] = ()
) -> Spelled:
    """Bring names of open lists to the spelling in use.

    Two spellings are the same name where they differ in case, in spaces or in the form of
    Unicode alone. The known spelling wins, else the first one of the sheet.

    Parameters
    ----------
    runs
        A run frame.
    known
        For each open list the spellings in use, most used first.
    own
        What the shop has added to the run sheet.
    """
    notes: list[str] = []
    changed: list[pl.Expr] = []
    for column in columns_with(own):
        if not column.open_list or runs[column.name].null_count() == runs.height:
            continue
        counts = runs[column.name].drop_nulls().value_counts(name="runs")
        order = runs[column.name].drop_nulls().unique(maintain_order=True).to_list()
        in_use = known.get(column.name, ())
        respelt, fresh = _respelt(order, in_use)
        if respelt:
            changed.append(pl.col(column.name).replace(respelt))
            rows = dict(counts.filter(pl.col(column.name).is_in(list(respelt))).iter_rows())
            notes += _few(
                [
                    f"{column.name}: '{old}' ({_runs(rows[old])}) was read as '{new}'"
                    for old, new in respelt.items()
                ],
                column.name,
            )
        near = dict(_close(fresh, in_use))
        close = [
            f"{column.name}: '{name}' is new and close to '{other}'; if it is the same, mend it"
            for name, other in near.items()
        ]
        notes += _few(close, column.name)
        if column.new_names_told:
            notes += _new_names(column, [name for name in fresh if name not in near], in_use)
    return Spelled(runs.with_columns(changed), tuple(notes))


def spelled_as(name: str, known: Sequence[str]) -> str:
    """The spelling in use of a name; the name itself where none is."""
    return next((each for each in known if _same(each) == _same(name)), name)


def _runs(count: int) -> str:
    return "1 run" if count == 1 else f"{count} runs"


def _few(notes: list[str], column: str) -> list[str]:
    more = len(notes) - MOST_NOTES
    return [*notes[:MOST_NOTES], f"{column}: and {more} more like these"] if more > 0 else notes


def _new_names(column: Column, fresh: Sequence[str], in_use: Sequence[str]) -> list[str]:
    """A note on names that no run has yet; none while the book has no names to hold them against.

    Names of people in use are nobody's to read who only logs a run.
    """
    if not fresh or not in_use:
        return []
    verb = "is" if len(fresh) == 1 else "are"
    known = "" if column.role == "people" else f"; known: {_listed(in_use)}"
    return [f"{column.name}: {_listed(fresh)} {verb} new to this book{known}"]


def _listed(names: Sequence[str]) -> str:
    shown = ", ".join(f"'{name}'" for name in names[:NAMES_SHOWN])
    return f"{shown} …" if len(names) > NAMES_SHOWN else shown


def _same(name: str) -> str:
    """What two spellings of one name have in common."""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def _respelt(names: Sequence[str], known: Sequence[str]) -> tuple[dict[str, str], list[str]]:
    """Names to change with what they become, and names never seen before."""
    spellings: dict[str, str] = {}
    for name in known:
        spellings.setdefault(_same(name), name)
    as_they_are = set(known)
    respelt: dict[str, str] = {}
    fresh: list[str] = []
    for name in names:
        if name in as_they_are:
            continue
        spelling = spellings.setdefault(_same(name), name)
        if spelling != name:
            respelt[name] = spelling
        else:
            fresh.append(name)
    return respelt, fresh


def _close(fresh: Sequence[str], known: Sequence[str]) -> Iterator[tuple[str, str]]:
    """Pairs of a new name and one that it is within a slip of the keyboard of."""
    if not fresh:
        return
    owners: dict[str, str] = {}
    for name in known:
        for form in _forms(name):
            owners.setdefault(form, name)
    for name in fresh:
        forms = list(_forms(name))
        other = next((owners[form] for form in forms if form in owners), None)
        if other is not None:
            yield name, other
        for form in forms:
            owners.setdefault(form, name)


def _forms(name: str) -> Iterator[str]:
    """The name's bare letters and digits, and the same with one letter left out.

    Two names that differ by a letter too many, too few, changed or swapped have a form in
    common. Digits are never left out: they tell machines, lots and jobs apart.
    """
    words = _bare(_same(name)).split()
    yield "".join(words)
    for place, word in enumerate(words):
        if len(word) < SHORTEST_WORD or not word.isalpha():
            continue
        for letter in range(len(word)):
            shorter = word[:letter] + word[letter + 1 :]
            yield "".join((*words[:place], shorter, *words[place + 1 :]))


def _bare(text: str) -> str:
    apart = unicodedata.normalize("NFKD", text)
    letters = (sign for sign in apart if not unicodedata.combining(sign))
    return "".join(sign if sign.isalnum() else " " for sign in letters)
