"""The files that are made are read back by the shaping engine, another program than wrote them."""

from itertools import pairwise

import pytest
import uharfbuzz as hb

from rentals.paper.glyph_tables import Outline, truetype_file

pytestmark = pytest.mark.any_database


def circle(radius: float) -> Outline:
    """A circle of four cubic curves, as fonts draw it."""
    handle = radius * 0.5522847
    pen = Outline(1000, advance=2 * radius)
    pen.moveTo((radius, 0))
    for (x, y), (u, v) in (
        ((1, 0), (0, 1)),
        ((0, 1), (-1, 0)),
        ((-1, 0), (0, -1)),
        ((0, -1), (1, 0)),
    ):
        pen.curveTo(
            (radius * x + handle * u, radius * y + handle * v),
            (radius * u + handle * x, radius * v + handle * y),
            (radius * u, radius * v),
        )
    pen.closePath()
    return pen


def test_curves_stay_within_a_unit_of_the_cubic_ones():
    (contour,) = circle(400).contours
    for x, y, on in contour:
        if on:
            assert abs((x * x + y * y) ** 0.5 - 400) < 1
    assert not any(a[:2] == b[:2] for a, b in pairwise(contour))


def test_a_file_holds_its_glyphs_with_their_widths_and_boxes():
    line = Outline(1000, advance=300)
    line.moveTo((0, 0))
    line.lineTo((10, 0))
    line.closePath()
    file = truetype_file([Outline(1000, 600), circle(400), line], 1000, 880, -120)
    font = hb.Font(hb.Face(hb.Blob(file)))
    assert font.face.glyph_count == 3
    assert [font.get_glyph_h_advance(glyph) for glyph in range(3)] == [600, 800, 300]
    box = font.get_glyph_extents(1)
    assert (box.x_bearing, box.y_bearing, box.width, box.height) == (-400, 400, 800, -800)
    assert font.get_glyph_extents(2).width == 0
