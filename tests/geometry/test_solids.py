"""Bodies of revolution against handbooks, scipy's integration and plain trigonometry."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from render.geometry import Path
from render.geometry.shapes import circle
from render.geometry.solids import Profile, Sector, View, chord_of, frustum, radius_of, sagitta
from render.geometry.subdivide import subdivided

PI = math.pi
circumferences = st.floats(20, 900)
cones = st.builds(lambda a, b, h: frustum(a, b, axial=h), circumferences, circumferences, st.floats(5, 400))


def test_the_development_of_a_frustum() -> None:
    """Worked example, ⌀ 5 and 8, height 4: Machinery's Handbook, from memory; ceemrr.com (secondary)."""
    sector = Sector.of(frustum(8 * PI, 5 * PI, axial=4))
    assert (sector.inner, sector.outer) == pytest.approx((7.1200, 11.3920), abs=1e-4)
    assert sector.angle == pytest.approx(126.404, abs=1e-3)


@pytest.mark.parametrize(
    ("top", "bottom", "height", "slant", "outer", "angle"),
    [(90, 70, 150, 150.333, 676.498, 23.947), (88, 60, 160, 160.611, 504.778, 31.380)],
)
def test_cups_by_hand(
    top: float, bottom: float, height: float, slant: float, outer: float, angle: float
) -> None:
    # by hand: R = s D / (D - d), angle = 360 (D - d) / 2s, area = π (r₁ + r₂) s
    profile = frustum(top * PI, bottom * PI, axial=height)
    sector = Sector.of(profile)
    assert profile.height == pytest.approx(slant, abs=1e-3)
    assert (sector.outer, sector.angle) == pytest.approx((outer, angle), abs=1e-3)
    area = sector.angle / 360 * PI * (sector.outer**2 - sector.inner**2)
    assert area == pytest.approx(PI * (top + bottom) / 2 * slant, rel=1e-5)


def test_sagitta_of_a_known_arc() -> None:
    # chord 60 on radius 40: Machinery's Handbook's formula, from memory
    assert sagitta(40, 60) == pytest.approx(13.5425, abs=1e-4)
    assert radius_of(60, sagitta(40, 60)) == pytest.approx(40)
    assert chord_of(40, sagitta(40, 60)) == pytest.approx(60)
    assert sagitta(1e9, 60) == pytest.approx(30**2 / 2e9, rel=1e-9)  # no cancellation on flat arcs
    with pytest.raises(ValueError, match="does not fit"):
        sagitta(40, 81)


@given(cones, st.floats(0, 1))
def test_arc_length_is_that_of_numeric_integration(profile: Profile, share: float) -> None:
    z = share * float(profile.z[-1])
    slope = (profile.r[-1] - profile.r[0]) / profile.z[-1]
    length, _ = quad(lambda _: math.hypot(1, slope), 0, 1)  # of one mm; z may be too small to part
    assert float(np.interp(z, profile.z, profile.s)) == pytest.approx(length * z, abs=1e-9)


@given(cones, st.lists(st.tuples(st.floats(-3, 3), st.floats(0, 1)), min_size=2, max_size=9))
def test_unrolling_a_cone_keeps_lengths_and_comes_back(
    profile: Profile, places: list[tuple[float, float]]
) -> None:
    if abs(profile.r[0] - profile.r[1]) < 1e-3:
        return
    sector = Sector.of(profile)
    surface = np.array([a + 1j * share * profile.height for a, share in places])
    plane = sector.plane(surface)
    assert np.abs(sector.surface(plane) - surface).max() < 1e-9 * max(1, sector.outer)
    # isometry: short steps are as long in the plane as on the cone, along and round it
    steps = np.concatenate((surface + 1e-4j, surface + 1e-4 / profile.radius(surface.imag)))
    moved = np.abs(sector.plane(steps) - np.concatenate((plane, plane)))
    away = np.concatenate((np.full(surface.size, 1e-4), 1e-4 * np.ones(surface.size)))
    inside = np.concatenate((surface.imag < profile.height - 1e-3, np.ones(surface.size, bool)))
    assert np.allclose(moved[inside], away[inside], rtol=1e-4, atol=1e-9 + 1e-13 * sector.outer)


@pytest.mark.parametrize(
    "stations",
    [[(0, 100)], [(0, 100), (0, 100)], [(10, 100), (0, 90)], [(0, 0), (10, 5)], [(0, 1), (math.inf, 1)]],
)
def test_what_is_no_profile_is_refused(stations: list[tuple[float, float]]) -> None:
    with pytest.raises(ValueError, match=r"profile|stations"):
        Profile.of(stations)


@pytest.mark.parametrize("heights", [{}, {"slant": 1.0}, {"slant": 9.0, "axial": 9.0}])
def test_a_cone_that_cannot_be_is_refused(heights: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"slant"):
        frustum(100, 50, **heights)


def test_no_sector_without_a_cone() -> None:
    for profile in (Profile.straight(200, 50), Profile.of([(0, 200), (10, 190), (20, 200)])):
        with pytest.raises(ValueError, match="only a cone"):
            Sector.of(profile)


def test_a_parallel_view_is_plain_trigonometry() -> None:
    profile, view = frustum(240, 180, axial=100), View(azimuth=90, elevation=20)
    angle, s = math.radians(110), 40.0
    r, z = float(profile.radius(np.array(s))), float(profile.axial(np.array(s)))
    x, toward, up = r * math.sin(math.radians(20)), r * math.cos(math.radians(20)), -z
    e = math.radians(20)
    seen = complex(view.project(profile, np.array([angle + 1j * s]))[0])
    assert seen == pytest.approx(complex(x, -(up * math.cos(e) - toward * math.sin(e))))


def test_the_eye_at_a_distance_sees_near_things_larger() -> None:
    profile, view = Profile.straight(2 * PI * 30, 100), View(distance=300)
    seen = view.project(profile, np.array([0.01 + 0j, 0.01 + PI + 0j]))
    # similar triangles: at radius 30 towards the eye 300 / 270, away from it 300 / 330
    assert seen[0].real == pytest.approx(30 * math.sin(0.01) * 300 / (300 - 30 * math.cos(0.01)))
    assert seen[1].real == pytest.approx(-30 * math.sin(0.01) * 300 / (300 + 30 * math.cos(0.01)))


@given(cones, st.floats(0, 25), st.sampled_from([math.inf, 900.0]), st.floats(0.02, 0.98))
def test_the_horizon_is_where_the_projection_turns_back(
    profile: Profile, elevation: float, distance: float, share: float
) -> None:
    """At the horizon the surface is seen edge on: steps round it and along it project onto one line."""
    if np.abs(profile.slopes).max() > 0.5:
        return
    view, s = View(30, elevation, distance), share * profile.height
    limit = float(view.horizon(profile, np.array([s]))[0])
    if not 0.01 < limit < PI - 0.01:
        return
    at = math.radians(30) + limit + 1j * s
    step = 1e-5
    seen = view.project(profile, np.array([at - step, at + step, at - 1j * step, at + 1j * step]))
    round_it, along = seen[1] - seen[0], seen[3] - seen[2]
    assert abs((round_it * along.conjugate()).imag) < 2e-4 * abs(along) * abs(2 * step * profile.r.max())


def test_clamping_leaves_what_is_seen_and_flattens_the_rest() -> None:
    profile, view = Profile.straight(2 * PI * 30, 100), View()
    drawn, visible = view.clamped(profile, np.array([0.5 + 1j, 1.6 + 1j, -2.0 + 1j]))
    assert visible.tolist() == [True, False, False]
    assert drawn.real.tolist() == pytest.approx([0.5, PI / 2, -PI / 2])


@given(st.floats(0.5, 200), st.floats(0.002, 0.5))
def test_subdivided_curves_stay_within_their_tolerance(radius: float, tolerance: float) -> None:
    path = subdivided(circle(3 + 4j, radius), tolerance)
    assert not (path.commands == 3).any()
    middles = (path.points[1:] + path.points[:-1]) / 2
    assert np.abs(np.abs(middles - (3 + 4j)) - radius).max() <= tolerance + 1e-5 * radius
    assert path.is_closed()


def test_the_line_home_is_cut_too() -> None:
    square = Path.polygon([0j, 10 + 0j, 10 + 10j, 10j])
    path = subdivided(square, 1.0, lambda _, lengths: lengths / 2.5)
    assert path.points.size == 17
    assert path.points[-1] == 0j
    assert np.abs(np.diff(path.points)).max() == pytest.approx(2.5)
    assert subdivided(path, 1.0) is path
