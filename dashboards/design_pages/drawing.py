"""A design as it is sewn: what was measured, its drawing and its density map."""

from __future__ import annotations

import streamlit as st

from dashboards.shared import moment_words
from dashboards.showing import picture, plain_markdown
from dashboards.tables import Heading, table
from logbook.charts.design import draw_density, draw_threads
from logbook.runs.designs import Design, DesignVersion
from logbook.stitches import Measurement
from logbook.wording import number, percent


def measured_words(name: str, measured: Measurement) -> None:
    """The finding, the two pictures, the figures."""
    st.markdown(f"**{plain_markdown(measured.finding())}**")
    dark = st.context.theme.type == "dark"
    threads, density = draw_threads(measured, dark=dark), draw_density(measured, dark=dark)
    st.html(
        '<div class="two-pictures">'
        f"<div>{picture(threads, alt=f'{name} in its thread colours')}</div>"
        f"<div>{picture(density, alt=f'Where {name} is dense. {measured.finding()}')}</div>"
        f"</div>"
    )
    with st.expander("All that was measured"):
        table(
            (Heading("What"), Heading("Measured", figures=True)),
            _figures(measured),
            caption="What was measured of the design",
        )
        for note in measured.notes:
            st.caption(plain_markdown(note[:1].upper() + note[1:]))


def _figures(measured: Measurement) -> list[tuple[str, str]]:
    lengths, grid = measured.lengths, measured.density
    trims = "not recorded in this file" if measured.trims is None else number(measured.trims)
    return [
        ("Stitches", number(measured.stitches)),
        ("Size", f"{measured.width_mm:.1f} × {measured.height_mm:.1f} mm"),
        ("Colour changes", number(measured.colour_changes)),
        ("Trims", trims),
        ("Jumps", number(measured.jumps)),
        ("Top thread along the face", f"{measured.thread_length_m:.1f} m"),
        ("Sewn area", f"{measured.sewn_area_cm2:.1f} cm²"),
        ("Densest square centimetre", f"{grid.densest:.1f} stitches/mm²"),
        ("Sewn area as a whole", f"{measured.mean_density:.1f} stitches/mm²"),
        ("Denser than solid stitching", f"{percent(measured.above_usual, 0)} of the sewn area"),
        ("Layers in the densest place", f"{measured.densest_layers:.1f}"),
        (
            "Stitches under 1 mm",
            f"{number(lengths.short)} ({percent(lengths.short_share)})",
        ),
        ("Usual stitch (median)", f"{lengths.median_mm:.1f} mm"),
    ]


def versions(design: Design) -> None:
    """Every version with what changed."""
    if len(design.versions) < 2:
        return
    with st.expander(f"Its {len(design.versions)} versions"):
        table(
            (
                Heading("Sewn since"),
                Heading("File"),
                Heading("Stitches", figures=True),
                Heading("Densest cm², stitches/mm²", figures=True),
                Heading("Size, mm", figures=True, wide_only=True),
            ),
            [_version(each) for each in reversed(design.versions)],
            caption="Versions of the design, newest first",
        )


def _version(version: DesignVersion) -> tuple[str, ...]:
    return (
        moment_words(version.since),
        version.file_name,
        number(version.stitches),
        f"{version.density_densest:.1f}",
        f"{version.width_mm:.0f} × {version.height_mm:.0f}",
    )
