"""The verification's own formulas, held against shapely and svgpathtools."""

from __future__ import annotations

import random

import numpy as np
import pytest
import shapely
import svgpathtools
from hypothesis import given
from hypothesis import strategies as st

from render.sheets import measure
from render.sheets.apart import inside_later, near_pairs
from render.sheets.pathpool import UnreadableError, read_paths


def wobble(rng: random.Random) -> str:
    """Path data of one closed contour of lines and curves, whole micrometres."""
    number = lambda: f"{rng.randint(-99999, 99999) / 1000:.3f}"  # noqa: E731
    pairs = lambda n: " ".join(number() for _ in range(2 * n))  # noqa: E731
    drawn = "".join(f"{'_LQC'[n]}{pairs(n)}" for n in (rng.randint(1, 3) for _ in range(rng.randint(1, 6))))
    return f"M{pairs(1)}{drawn}Z"


@given(st.integers(0, 10**9))
def test_boxes_lengths_and_areas_agree_with_svgpathtools(seed):
    data = [wobble(random.Random(seed + k)) for k in range(2)]
    pool = read_paths(data)
    part = measure.segments(pool)
    areas, lengths = measure.signed_areas(part, 2) / 1e6, measure.lengths(part, 2) / 1000
    for at, d in enumerate(data):
        path = svgpathtools.parse_path(d)
        # svgpathtools 1.7 refuses to measure segments without length, which closing may leave
        path = svgpathtools.Path(*[s for s in path if s.start != s.end or len(s.bpoints()) > 2])
        x0, x1, y0, y1 = path.bbox()
        assert measure.exact_box(pool.part(at, at + 1)) / 1000 == pytest.approx((x0, y0, x1, y1), abs=1e-6)
        assert areas[at] == pytest.approx(path.area(), abs=1e-6)
        # cusps make quadrature coarse on both sides
        assert lengths[at] == pytest.approx(sum(s.length() for s in path), rel=2e-3)
        assert lengths[at] * 1000 <= measure.control_lengths(part, 2)[at] * (1 + 2e-3)


@given(st.integers(0, 10**9))
def test_corners_follow_the_curves(seed):
    """Area by the shoelace formula within a rim along the corners; box as that of the curves."""
    d = wobble(random.Random(seed))
    pool = read_paths([d])
    (corners,) = measure.corners(pool)
    exact = measure.signed_areas(measure.segments(pool), 1)[0]
    ring = shapely.LinearRing(corners) if len(corners) > 3 else None
    if ring is not None:
        x, y = corners.T
        shoelace = float((x[:-1] * y[1:] - x[1:] * y[:-1]).sum() / 2)
        assert abs(shoelace - exact) <= measure.FLAT_UM * ring.length
    box = measure.exact_box(pool)
    assert np.abs(np.concatenate((corners.min(axis=0), corners.max(axis=0))) - box).max() <= measure.FLAT_UM


def test_a_square_has_known_figures():
    """Square of 10 mm: area 100 mm², length 40 mm; drawn clockwise as seen, the area is positive."""
    part = measure.segments(read_paths(["M0 0L10 0L10 10L0 10Z"]))
    assert measure.signed_areas(part, 1) == pytest.approx([100e6])
    assert measure.lengths(part, 1) == pytest.approx([40e3])


def test_the_area_of_paths_far_from_the_origin_keeps_its_digits():
    near, far = "M0 0L.001 0L.001 .001L0 .001Z", "M9999 9999L9999.001 9999L9999.001 9999.001L9999 9999.001Z"
    assert measure.signed_areas(measure.segments(read_paths([near, far])), 2).tolist() == [1, 1]


boxes = st.lists(
    st.tuples(st.integers(0, 60), st.integers(0, 60), st.integers(1, 15), st.integers(1, 15)), max_size=14
)


@given(boxes, st.integers(0, 10))
def test_near_pairs_are_those_that_shapely_finds(places, gap):
    array = np.array([(x, y, x + w, y + h) for x, y, w, h in places]).reshape(-1, 4)
    shapes = shapely.box(*array.T)
    expected = {
        (i, j)
        for i in range(len(array))
        for j in range(i + 1, len(array))
        if shapes[i].distance(shapes[j]) < gap or shapes[i].intersection(shapes[j]).area > 0
    }
    assert {tuple(sorted(pair)) for pair in near_pairs(array, gap)} == expected


def test_inner_after_outer_is_told_with_its_places():
    outer, inner, beside = "M0 0L9 0L9 9L0 9Z", "M2 2L4 2L4 4L2 4Z", "M20 0L22 0L22 2Z"
    assert inside_later(read_paths([inner, beside, outer])) is None
    assert inside_later(read_paths([beside, outer, inner])) == (1, 2)
    c, mouth = "M0 0L9 0L9 2L2 2L2 7L9 7L9 9L0 9Z", "M4 4L6 4L6 6Z"
    assert inside_later(read_paths([c, mouth])) is None


@given(
    st.lists(st.tuples(st.integers(-(10**8), 10**8), st.integers(0, 3)), min_size=4, max_size=12),
    st.sampled_from((" ", ",", "  ", " , ")),
)
def test_numbers_are_read_exactly(numbers, between):
    """Against Python's own decimal reading; 0 to 3 decimals, with or without a leading zero."""
    numbers = numbers[: len(numbers) // 2 * 2]
    texts = [f"{um / 1000:.{places}f}" for um, places in numbers]
    texts = [t.replace("0.", ".", 1) if t.startswith(("0.", "-0.")) else t for t in texts]
    sep = between if "," not in between or between == "," else ","
    pool = read_paths(["M" + sep.join(texts)])
    assert pool.points.reshape(-1).tolist() == [round(float(t) * 1000) for t in texts]
    assert pool.commands.tolist() == [0] + [1] * (len(texts) // 2 - 1)


def test_a_minus_parts_numbers():
    assert read_paths(["M1-2L-3-4.5Z"]).points.tolist() == [[1000, -2000], [-3000, -4500]]


@pytest.mark.parametrize(
    "data", ["M1", "M1 2", "M1 2L3", "M1 2L3 4M5 6", "M1 2Q3 4Z", "M1 2C3 4 5 6Z", "M1 2Z"]
)
def test_too_few_numbers_and_idle_moves_are_refused(data):
    with pytest.raises(UnreadableError):
        read_paths(["M0 0L1 1", data, "M0 0L1 1"])
