"""The parts of the suppliers page, answer first."""

from __future__ import annotations

import streamlit as st

from dashboards.narrowing import Narrowing
from dashboards.showing import plain_markdown, show_figure
from dashboards.tables import Cell, Heading, download_figures, table
from logbook.questions.suppliers import figure as drawing
from logbook.questions.suppliers.analyse import SupplierRow, SuppliersResult
from logbook.short_figures import (
    ABSENT,
    count_short,
    interval_short,
    money_or_not_known,
    rate_short,
)
from logbook.vocabulary.backings import BACKINGS, WEIGHT_BANDS
from logbook.wording import number, points

BANDS = {band.name: band.label for band in WEIGHT_BANDS}
VERDICTS = {
    "better": Cell("Better", "relief"),
    "worse": Cell("Worse", "alarm"),
    "no_worse": Cell("No worse", "relief"),
    "not_enough_data": Cell("Not enough yet"),
    None: Cell(ABSENT),
}


def answer(result: SuppliersResult) -> None:
    """Say the finding."""
    for headline in result.headlines():
        st.markdown(f"##### {plain_markdown(headline)}")


def differences(result: SuppliersResult, narrowing: Narrowing) -> None:
    """Draw the intervals."""
    if result.kind.measure == "pieces":
        st.caption("A point is one piece in 100: one point above is one more defective in 100.")
    if any(row.check is not None and row.check.jobs for row in result.suppliers):
        show_figure(drawing.draw, result, key=narrowing.file_name("suppliers"))
    for warning in result.pressing:
        st.warning(plain_markdown(warning))
    st.subheader("Supplier by supplier")
    st.markdown("\n".join(f"- {plain_markdown(line)}" for line in result.lines()))


def by_supplier(result: SuppliersResult, narrowing: Narrowing) -> None:
    """Write one row a supplier."""
    if not result.suppliers:
        return
    verdict = (Heading("Verdict", wide_only=True),) if result.fair_given else ()
    table(
        (
            Heading("Supplier"),
            Heading("Runs", figures=True, wide_only=True),
            Heading("Lots", figures=True, wide_only=True),
            Heading("Counted", figures=True, wide_only=True),
            Heading("All jobs", figures=True),
            Heading("95 % interval", figures=True, wide_only=True),
            Heading("On the same jobs", figures=True),
            *verdict,
            Heading(f"100 good pieces, {result.currency}", figures=True, wide_only=True),
        ),
        [_row(result, row) for row in result.suppliers],
        caption="Suppliers side by side",
    )
    download_figures(result.table(), name=narrowing.file_name(f"suppliers-{result.kind.name}"))


def evidence(result: SuppliersResult) -> None:
    """Open the like-for-like groups on demand, and the doubts."""
    with st.expander(f"The evidence: {len(result.strata)} groups of fabric, backing and weight"):
        table(
            (
                Heading("Fabric"),
                Heading("Backing"),
                Heading("Weight", wide_only=True),
                Heading("Supplier"),
                Heading("Counted", figures=True),
                Heading("Rate", figures=True),
                Heading("95 % interval", figures=True, wide_only=True),
                Heading("Used", wide_only=True),
            ),
            [
                [
                    stratum.job.fabric or "not recorded",
                    BACKINGS.label_of(stratum.job.backing or ABSENT),
                    BANDS.get(stratum.job.weight_band or "", "not recorded"),
                    stratum.supplier,
                    count_short(
                        result.kind.measure,
                        stratum.counted.count,
                        stratum.counted.exposure,
                        millions="million",
                    ),
                    rate_short(result.kind.measure, stratum.rate),
                    interval_short(result.kind.measure, stratum.interval),
                    "yes" if stratum.like_for_like else "no, not shared",
                ]
                for stratum in result.strata
            ],
            caption="Like-for-like groups",
        )
    with st.expander("What to keep in mind"):
        for note in (*result.warnings[len(result.pressing) :], *result.notes):
            st.markdown(plain_markdown(note))


def _row(result: SuppliersResult, row: SupplierRow) -> list[str | Cell]:
    measure = result.kind.measure
    return [
        row.supplier,
        number(row.counted.runs),
        number(row.lots),
        count_short(measure, row.counted.count, row.counted.exposure, millions="million"),
        rate_short(measure, row.crude_rate),
        interval_short(measure, row.crude_interval),
        _against(result, row),
        *((VERDICTS[row.fair.verdict],) if result.fair_given else ()),
        money_or_not_known(100 * result.good_piece(row.supplier)[0]),
    ]


def _against(result: SuppliersResult, row: SupplierRow) -> str:
    if row.supplier == result.reference:
        return "reference"
    if row.check is None or row.check.jobs == 0:
        return "not comparable"
    estimate = row.check.like_for_like.estimate if row.fair.verdict is None else row.fair.difference
    size = abs(estimate)
    said = points(size) if result.kind.measure == "pieces" else rate_short("events", size)
    return f"{said} {'more' if estimate > 0 else 'fewer'}"
