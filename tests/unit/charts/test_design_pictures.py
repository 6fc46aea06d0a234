"""Pictures of a design: nothing but what was measured, and a tap leads back to millimetres."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np
import pytest
from stitch_files import pattern_of, plain_fill, three_blocks, written

from logbook.charts import design
from logbook.charts.design import CLASSES, DARK_SCALE, LIGHT_SCALE, draw_density, draw_threads
from logbook.stitches import Measurement, measure_bytes

THEMES = pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def blocks() -> Measurement:
    return measure_bytes(written(three_blocks(), "vp3"), file_name="<blocks> & more.vp3")


@THEMES
def test_threads_are_drawn_in_their_colours_stitch_by_stitch(
    blocks: Measurement, dark: bool
) -> None:
    root = ElementTree.fromstring(draw_threads(blocks, dark=dark))
    lines = [path for path in root.iter(f"{SVG}path") if path.get("stroke", "").startswith("#")]
    drawn = {path.get("stroke"): path.get("d", "") for path in lines}
    for colour in blocks.design.colours:
        # Two runs of thread in each block, 58 stitches in all.
        assert drawn[colour].count("M") == 2
        assert drawn[colour].count("l") == 58


@THEMES
def test_cells_are_coloured_by_the_same_scale_for_all(dark: bool) -> None:
    scale = DARK_SCALE if dark else LIGHT_SCALE
    fill = plain_fill(width=40, height=40, spacing=0.4, stitch=1)
    found = measure_bytes(written(pattern_of(fill), "csv"), file_name="a.csv")
    root = ElementTree.fromstring(draw_density(found, dark=dark))
    area = dict.fromkeys(scale, 0)
    for path in root.iter(f"{SVG}path"):
        colour = path.get("fill")
        if colour in area:
            area[colour] = sum(int(run) for run in re.findall(r"h(\d+)v1", path.get("d", "")))
    sewn = found.density.sewn_mm2 > 0
    steps = np.bincount(found.density.density[sewn].astype(int), minlength=CLASSES)
    assert list(area.values()) == steps.tolist()


@THEMES
def test_the_densest_square_is_framed(blocks: Measurement, dark: bool) -> None:
    root = ElementTree.fromstring(draw_density(blocks, dark=dark))
    frame = design.frame(blocks)
    framed = [rect for rect in root.iter(f"{SVG}rect") if rect.get("fill") == "none"][-1]
    x, y = (float(framed.get(name, "nan")) for name in ("x", "y"))
    middle = frame.mm(
        (x + 5 * frame.scale) / frame.width_px, (y + 5 * frame.scale) / frame.height_px
    )
    assert middle == pytest.approx(blocks.density.densest_at_mm, abs=0.05)


def test_a_tap_leads_back_to_millimetres(blocks: Measurement) -> None:
    frame = design.frame(blocks)
    for place in blocks.thread.points_mm[:5]:
        x, y = frame.px(float(place[0]), float(place[1]))
        assert 0 < x < frame.width_px
        assert frame.mm(x / frame.width_px, y / frame.height_px) == pytest.approx(tuple(place))


@pytest.mark.parametrize("size", [(300.0, 3.0), (3.0, 300.0)])
def test_long_and_narrow_designs_stay_inside(size: tuple[float, float]) -> None:
    fill = plain_fill(width=size[0], height=size[1], spacing=0.4, stitch=4)
    found = measure_bytes(written(pattern_of(fill), "csv"), file_name="a.csv")
    frame = design.frame(found)
    for place in (found.thread.points_mm.min(axis=0), found.thread.points_mm.max(axis=0)):
        x, y = frame.px(float(place[0]), float(place[1]))
        assert 0 < x < frame.width_px
        assert 0 < y < frame.height_px


def test_names_of_users_are_not_read_as_markup(blocks: Measurement) -> None:
    assert "<blocks>" not in design.draw(blocks)
    assert "&lt;blocks&gt; &amp; more.vp3" in design.draw(blocks)


def test_nothing_comes_from_outside(blocks: Measurement) -> None:
    drawn = design.draw(blocks).replace("http://www.w3.org/2000/svg", "")
    assert not re.search(r"http|href|url\(|<script|<image", drawn)


def lightness(colour: str) -> float:
    """Luma of sRGB (ITU-R BT.709): enough to order colours by."""
    red, green, blue = (int(colour[place : place + 2], 16) for place in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_denser_is_darker_in_light_and_lighter_in_dark() -> None:
    light = [lightness(colour) for colour in LIGHT_SCALE]
    dark = [lightness(colour) for colour in DARK_SCALE]
    assert light == sorted(light, reverse=True)
    assert dark == sorted(dark)
    assert len(light) == len(dark) == CLASSES


@pytest.mark.parametrize("quantile", [0.0, 0.5, 0.9])
def test_the_densest_places_are_outlined_cell_by_cell(blocks: Measurement, quantile: float) -> None:
    grid = blocks.density
    least = float(np.quantile(grid.density[grid.sewn_mm2 > 0], quantile))
    drawn = draw_density(blocks, densest_from=least)
    assert "Outlined: densest tenth" in drawn
    lines = re.findall(r'd="((?:M\d+ \d+[hv]1)+)" fill="none"', drawn)
    assert len(lines) == 2  # the line and the paper round it
    crossed = np.zeros((grid.density.shape[0], grid.density.shape[1] + 1), dtype=int)
    for column, row in re.findall(r"M(\d+) (\d+)v1", lines[0]):
        crossed[int(row), int(column)] = 1
    inside = np.cumsum(crossed, axis=1)[:, :-1] % 2 == 1
    assert np.array_equal(inside, (grid.density >= least) & (grid.sewn_mm2 > 0))


def test_nothing_is_outlined_unless_asked(blocks: Measurement) -> None:
    assert "Outlined" not in draw_density(blocks)
