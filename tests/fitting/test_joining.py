"""Joining: known shapes, then real lettering, each asked again by shapely and by Clipper."""

from __future__ import annotations

import numpy as np
import pyclipper
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from render.fitting.joining import Asked, join
from render.fitting.midline import middle_line
from render.fitting.necks import holds, narrowest_neck
from render.fitting.solids import parts_of, region_of_path
from render.geometry import Path
from render.geometry.shapes import circle, ellipse, rectangle


def clipper_pieces(path: Path, width: float) -> int:
    """Outer contours left when Clipper (A. Johnson) takes half of `width` off all round."""
    offset = pyclipper.PyclipperOffset(2.0, 2.5)
    for part in parts_of(region_of_path(path)):
        for ring in (part.exterior, *part.interiors):
            corners = np.rint(shapely.get_coordinates(ring)[:-1] * 1000).astype(int).tolist()
            offset.AddPath(corners, pyclipper.JT_ROUND, pyclipper.ET_CLOSEDPOLYGON)
    left = offset.Execute(-width / 2 * 1000)
    return sum(pyclipper.Orientation(c) and abs(pyclipper.Area(c)) > 1e4 * width * width for c in left)


def assert_one_piece(path: Path, neck: float) -> None:
    region = region_of_path(path)
    assert region.geom_type == "Polygon"
    assert region.is_valid
    assert narrowest_neck(region, neck) >= 0.95 * neck
    assert clipper_pieces(path, 0.95 * neck) == 1


I = (rectangle(0, 0, 4, 20), circle(2 - 6j, 2.5))  # noqa: E741
"""An i: a stem and its dot."""


def test_a_dot_is_tied_to_its_stem_upright_and_as_wide_as_asked() -> None:
    joined = join(Asked(I, 1.5, baselines=((20.0, 20.0),)))
    assert_one_piece(joined.path, 1.5)
    assert not joined.faults
    ((middle, shown),) = joined.ties
    assert middle.real == pytest.approx(2, abs=0.6)
    assert shown == pytest.approx(3.5, abs=0.4)
    assert joined.added == pytest.approx(1.5 * 3.5, rel=0.6)  # a slender stem and its rounding, no block


@given(st.floats(0.6, 3), st.floats(0.5, 12))
def test_two_discs_apart_become_one(neck: float, gap: float) -> None:
    joined = join(Asked((circle(0j, 5), circle(10 + gap, 5)), neck))
    assert_one_piece(joined.path, neck)
    box = joined.path.bounds()
    assert (box.x0, box.x1) == pytest.approx((-5, 15 + gap), abs=1e-6)


def test_discs_that_only_touch_get_a_neck() -> None:
    joined = join(Asked((circle(0j, 5), circle(9.999, 5)), 1.5))
    assert_one_piece(joined.path, 1.5)


def test_a_thin_bar_is_made_stouter_along_its_way() -> None:
    bar = Path.polygon([4 - 0.2j, 16 - 0.2j, 16 + 0.2j, 4 + 0.2j])
    joined = join(Asked((circle(0j, 5), circle(20, 5), bar), 1.5))
    assert_one_piece(joined.path, 1.5)
    assert not joined.ties  # the bar itself was grown
    beside = [abs(z.imag) for z in joined.path.points if 7.5 < z.real < 12.5]
    assert beside
    assert beside == pytest.approx([0.75 * 1.05] * len(beside), abs=0.02)  # as wide as a neck, no more


def test_the_middle_line_of_a_strip_is_its_middle() -> None:
    strip = shapely.box(5, -0.2, 15, 0.2)
    whole = shapely.union_all([strip, shapely.Point(0, 0).buffer(5), shapely.Point(20, 0).buffer(5)])
    line = middle_line(whole, strip, 1.5)
    assert np.abs(shapely.get_coordinates(line)[:, 1]).max() < 0.06  # a quarter of its half width
    assert line.bounds[0] < 5.2
    assert line.bounds[2] > 14.8


def test_what_holds_already_is_left_as_it_was() -> None:
    whole = circle(0j, 5)
    joined = join(Asked((whole,), 1.5))
    assert not joined.ties
    assert joined.added == 0
    kept = {complex(z) for z in joined.path.points}
    assert kept == {complex(z) for z in whole.points}


def test_a_hole_is_never_filled() -> None:
    eye, hole = circle(-9, 4), circle(-9, 2)
    joined = join(Asked((rectangle(0, -5, 4, 10),), 1.2, solids=(eye,), holes=(hole,)))
    assert_one_piece(joined.path, 1.2)
    assert not region_of_path(joined.path).intersects(shapely.Point(-9, 0).buffer(1.98))


def test_what_cannot_hold_says_where() -> None:
    """A piece thinner everywhere than the neck, cut in two by a hole that no tie may cross."""
    joined = join(Asked((), 3.0, solids=(rectangle(0, 0, 30, 10),), holes=(rectangle(14, -5, 2, 20),)))
    assert joined.faults
    assert 0 <= joined.faults[0].at.real <= 30
    assert "2 pieces" in joined.faults[0].why


def test_a_tie_that_would_look_crude_is_a_fault() -> None:
    joined = join(Asked((circle(0j, 5), circle(60, 5)), 1.5, longest=20))
    assert any("tie of" in fault.why for fault in joined.faults)


def test_two_lines_hold_to_each_other_at_both_ends() -> None:
    upper = tuple(rectangle(x, 0, 8, 10) for x in range(0, 60, 9))
    lower = tuple(rectangle(x, 14, 8, 10) for x in range(0, 60, 9))
    joined = join(Asked((*upper, *lower), 1.5, baselines=((10.0, 10.0), (24.0, 10.0))))
    assert_one_piece(joined.path, 1.5)
    across = [middle.real for middle, _ in joined.ties if 10 < middle.imag < 14]
    assert len(across) >= 2
    assert max(across) - min(across) > 15


def test_nothing_to_join_is_an_error() -> None:
    with pytest.raises(ValueError, match="nothing"):
        join(Asked((), 1.5))
    with pytest.raises(ValueError, match="neck"):
        join(Asked((circle(0j, 5),), 0))


def test_the_same_pieces_give_the_same_path() -> None:
    asked = Asked((*I, ellipse(14 + 10j, 6, 10)), 1.5, baselines=((20.0, 20.0),))
    assert join(asked).path == join(asked).path
    assert holds(region_of_path(join(asked).path), 1.5)


def test_a_union_that_is_not_found_is_found_on_a_fine_grid(monkeypatch: pytest.MonkeyPatch) -> None:
    """As for two lines of a topper whose stout places nearly touch: GEOS then finds a conflict of sides."""
    from render.fitting import solids

    plain = shapely.union_all

    def fails(regions: object, grid_size: float | None = None) -> object:
        if grid_size is None:
            raise shapely.GEOSException("side location conflict")
        return plain(regions, grid_size=grid_size)

    monkeypatch.setattr(solids.shapely, "union_all", fails)
    whole = solids.together([shapely.box(0, 0, 2, 1), shapely.box(1, 0, 3, 1)])
    assert whole.area == pytest.approx(3)
