"""A setup said in words, as a person at the machine would."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dashboards.shared import column_of
from logbook.runs.columns import COLUMNS
from logbook.vocabulary.needles import NEEDLE_SIZES_NM
from logbook.wording import number

_WORK = tuple(
    each.name
    for each in COLUMNS
    if each.form == "Who and what"
    and each.role in ("people", "job")
    and (not each.where_used or each.name == "customer")
)


def work_in_words(run: Mapping[str, Any]) -> str:
    """Who sews what: ``Noor A. · J4628 · Hare monogram · 40 polyester · 8 heads``."""
    names = [run.get(name) for name in _WORK]
    heads = run.get("head_count")
    return " · ".join(
        [*(str(name) for name in names if name), *([_plural(heads, "head")] if heads else [])]
    )


def setup_in_words(run: Mapping[str, Any]) -> str:
    """With what: fabric, backing, topping, hooping, needle, speed, stitches; ``·`` between.

    Parameters
    ----------
    run
        Columns of the run sheet to values; what is not recorded is left out.
    """
    parts = (
        _fabric(run),
        _backing(run),
        _label(run, "topping"),
        _label(run, "hooping"),
        needle_in_words(run.get("needle_nm"), run.get("needle_point")),
        _amount(run, "speed_spm", "stitches a minute"),
        _amount(run, "stitches_per_piece", "stitches a piece"),
    )
    return " · ".join(part for part in parts if part)


def needle_in_words(size_nm: int | None, point: str | None) -> str:
    """Say a needle as its packet does: ``75/11 light ball point``."""
    words = [] if size_nm is None else [size_words(size_nm)]
    if point is not None:
        words.append(_choice("needle_point", point).lower())
    return " ".join(words) + (" needle" if words and "point" not in words[-1] else "")


def size_words(size_nm: int) -> str:
    """Say a needle size with both numbers of its packet: ``75/11``."""
    beside = NEEDLE_SIZES_NM.get(size_nm)
    return str(size_nm) if beside is None else f"{size_nm}/{beside}"


def _fabric(run: Mapping[str, Any]) -> str:
    fabric = run.get("fabric")
    words = [str(fabric)[:1].upper() + str(fabric)[1:]] if fabric else []
    if shade := run.get("fabric_shade"):
        words.append(_choice("fabric_shade", shade).lower())
    if run.get("fabric_sheer"):
        words.append("sheer")
    return ", ".join(words)


def _backing(run: Mapping[str, Any]) -> str:
    kind, weight, layers = run.get("backing"), run.get("backing_gsm"), run.get("backing_layers")
    if kind == "none":
        return _choice("backing", "none")
    words = [" ".join(([_choice("backing", kind)] if kind else []) + _weight(weight))]
    if layers:
        words.append(_plural(layers, "layer"))
    if shade := run.get("backing_shade"):
        words.append(_choice("backing_shade", shade).lower())
    lot = run.get("backing_lot")
    words.append(" ".join([str(run.get("backing_supplier") or ""), f"lot {lot}" if lot else ""]))
    return ", ".join(word.strip() for word in words if word.strip())


def _weight(gsm: float | None) -> list[str]:
    return [] if gsm is None else [f"{number(gsm)} g/m²"]


def _label(run: Mapping[str, Any], name: str) -> str:
    value = run.get(name)
    return "" if value is None else _choice(name, value)


def _choice(name: str, value: str) -> str:
    choices = column_of(name).choices
    return value if choices is None else choices.label_of(value)


def _amount(run: Mapping[str, Any], name: str, unit: str) -> str:
    value = run.get(name)
    return "" if value is None else f"{number(value)} {unit}"


def _plural(count: float, noun: str) -> str:
    return f"{number(count)} {noun}" + ("" if count == 1 else "s")
