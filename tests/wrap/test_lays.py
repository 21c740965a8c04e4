"""How drawings lie on bodies: there and back, true widths, flat labels, full turns, caps, distortion."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from render.errors import LibraryError
from render.geometry import Path
from render.geometry.shapes import circle, line, rectangle
from render.geometry.solids import Sector, frustum
from render.model import Artwork, Lay, Mark, Operation, Place, RoundBody, Surface
from render.wrap import Wrapper, wrap
from render.wrap.distortion import distortion_of, strain_of
from render.wrap.lays import CapMap, LabelMap, RimMap, TurnMap
from render.wrap.still import StillWrapper
from tests.wrap import bodies as B  # noqa: N812

places = st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=1, max_size=12)


def artwork(*paths: Path, operation: Operation = Operation.SCORE) -> Artwork:
    return Artwork("p2", "Ida", tuple(Mark(operation, path) for path in paths))


def points_of(body: RoundBody, shares: list[tuple[float, float]]) -> np.ndarray:
    return np.array([a * body.circumference + 1j * b * body.height for a, b in shares])


@given(B.bodies, B.rotaries, st.booleans(), places)
def test_from_drawing_to_machine_and_back(body, rotary, half_turned, shares) -> None:
    wrapper = Wrapper.of(body, rotary, half_turned=half_turned)
    _, drawn = wrapper.map_at(body.places[0])
    points = points_of(body, shares)
    machine = wrapper.turning.to_machine(drawn.to_surface(points))
    assert np.abs(drawn.to_drawing(wrapper.turning.to_surface(machine)) - points).max() < 1e-9


@given(st.floats(40, 500), st.floats(40, 500), st.floats(20, 300), st.floats(0, 360), places)
def test_a_flat_label_there_and_back_and_as_long_as_it_was(top, bottom, height, at, shares) -> None:
    if abs(top - bottom) < 1:
        return
    body = B.body_of(
        frustum(top, bottom, axial=height), lay=Lay.LABEL, places=(Place("a", at, lay=Lay.LABEL),)
    )
    _, drawn = Wrapper.of(body, B.CHUCK).map_at(body.places[0])
    assert isinstance(drawn, LabelMap)
    middle = body.circumference * at / 360
    points = np.array([middle + (a - 0.5) * 40 + 1j * b * body.height for a, b in shares])
    surface = drawn.to_surface(points)
    scale = max(1.0, drawn.sector.outer)
    assert np.abs(drawn.to_drawing(surface) - points).max() < 1e-9 * scale
    # the metric of a cone: lengths of short steps in every direction are those of the drawing
    for direction in (1, 1j, (1 + 1j) / math.sqrt(2)):
        step = drawn.to_surface(points + 1e-4 * direction) - surface
        slope = (body.stations[1][1] - body.stations[0][1]) / (2 * math.pi * body.height)
        radius = body.stations[0][1] / (2 * math.pi) + slope * surface.imag
        assert np.allclose(np.hypot(step.real * radius, step.imag), 1e-4, rtol=2e-3, atol=1e-10 * scale)


def test_following_the_rim_keeps_widths_at_every_height() -> None:
    _, drawn = Wrapper.of(B.CONE, B.CHUCK).map_at(Place("front", 90))
    for y in (0.0, 75.0, 150.0):
        ends = drawn.to_surface(np.array([40 + 1j * y, 85 + 1j * y]))
        radius = (276 + (224 - 276) * y / 150) / (2 * math.pi)
        assert (ends[1] - ends[0]).real * radius == pytest.approx(45)
        assert ends.imag.tolist() == [y, y]
    assert drawn.to_surface(np.array([62.5 + 10j]))[0].real == pytest.approx(math.pi / 2)


def test_a_level_line_on_a_flat_label_sinks_towards_its_ends() -> None:
    """On the developed cone the circle through the middle of a straight line bends away from it."""
    wrapper = Wrapper.of(B.body_of(frustum(276, 224, slant=150), lay=Lay.LABEL), B.CHUCK)
    _, drawn = wrapper.map_at(None)
    outer = 150 * 276 / (276 - 224)  # R = s D / (D - d), by hand
    surface = drawn.to_surface(np.array([125 + 75j, 125 + 30 + 75j]))
    assert surface[0].imag == pytest.approx(75)
    assert surface[1].imag == pytest.approx(outer - math.hypot(30, outer - 75))


def test_a_full_turn_closes_at_every_height() -> None:
    body = B.body_of(frustum(276, 224, slant=150), lay=Lay.TURN)
    ends = [line(0j, 150j), line(250 + 0j, 250 + 150j)]
    first, last = (c.points for c in wrap(artwork(*ends), body, B.CHUCK).artwork.marks[0].path.contours())
    assert np.abs(last - first - 360j).max() < 1e-9


def test_cylinder_is_the_limit_of_the_cone() -> None:
    drawn = rectangle(100, 30, 50, 40)
    straight = wrap(artwork(drawn), RoundBody(250, 150), B.CHUCK).artwork.marks[0].path
    nearly = B.body_of(frustum(250.001, 249.999, slant=150))
    for lay in (Lay.RIM, Lay.LABEL, Lay.TURN):
        body = RoundBody(250, nearly.height, stations=nearly.stations, lay=lay)
        bent = wrap(artwork(drawn), body, B.CHUCK).artwork.marks[0].path
        box, expected = bent.bounds(), straight.bounds()
        assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx(
            (expected.x0, expected.y0, expected.x1, expected.y1), abs=5e-3
        )


@pytest.mark.parametrize("lay", [Lay.RIM, Lay.LABEL])
@pytest.mark.parametrize("body", [B.CONE, B.BULB], ids=["cone", "bulb"])
def test_burned_lines_stay_within_the_tolerance(body, lay) -> None:
    """Between the points sent, the machine goes straight; the true map of the drawing is hardly left."""
    if body is B.BULB and lay is Lay.LABEL:
        return
    body = RoundBody(body.circumference, body.height, stations=body.stations, lay=lay)
    wrapper = Wrapper.of(body, B.CHUCK)
    _, drawn = wrapper.map_at(None)
    for path in (line(30 + 2j, 210 + body.height * 0.98j), circle(125 + 37j, 30), line(20 + 5j, 200 + 5j)):
        sent = wrapper.wrap(artwork(path)).artwork.marks[0].path.points
        between = np.concatenate([sent[:-1] * (1 - t) + sent[1:] * t for t in (0.25, 0.5, 0.75)])
        back = drawn.to_drawing(wrapper.turning.to_surface(between))
        dense = _dense(path)
        away = np.array([np.abs(dense - z).min() for z in back])
        stretched = float(body.stations[0][1]) / body.circumference
        assert away.max() <= 0.02 * max(1.0, stretched) * 1.2
        assert sent.size < 400


def _dense(path: Path) -> np.ndarray:
    from render.geometry.subdivide import subdivided

    return subdivided(path, 1e-6, lambda _, lengths: lengths / 0.002).points


def test_a_profile_goes_by_arc_length() -> None:
    """The height in the drawing is the length along the meridian: against numeric integration."""
    profile = Wrapper.of(B.BULB, B.CHUCK).profile

    def slope(z: float) -> float:
        piece = min(int(np.searchsorted(profile.z, z, side="right")) - 1, profile.z.size - 2)
        return float((profile.r[piece + 1] - profile.r[piece]) / (profile.z[piece + 1] - profile.z[piece]))

    length, _ = quad(lambda z: math.hypot(1, slope(z)), 0, 52, points=list(profile.z[1:4]), limit=200)
    assert float(profile.axial(np.array([length]))[0]) == pytest.approx(52, abs=1e-8)


def test_marks_go_to_their_place_and_counters_with_their_letters() -> None:
    body = RoundBody(
        250, 150, stations=B.CONE.stations, lay=Lay.TURN,
        places=(Place("front", 90, width=80), Place("back", 270, width=80)),
    )  # fmt: skip
    frame = Path.joined([rectangle(20, 20, 90, 100), rectangle(60, 40, 10, 10)])  # wider than its place
    parts = Wrapper.of(body, B.CHUCK).laid([Mark(Operation.ENGRAVE, frame)])
    assert [each[0].lay for _, each in parts] == [Lay.TURN]  # the counter goes where the frame goes
    both = Path.joined([rectangle(50, 40, 20, 10), rectangle(180, 40, 20, 10), rectangle(5, 5, 240, 140)])
    parts = Wrapper.of(body, B.CHUCK).laid([Mark(Operation.ENGRAVE, both)])
    assert [each[0].lay for _, each in parts] == [Lay.RIM, Lay.RIM, Lay.TURN]
    assert [type(each[0].drawn) for _, each in parts] == [RimMap, RimMap, TurnMap]
    assert [each[0].drawn.angle for _, each in parts[:2]] == pytest.approx([math.pi / 2, 1.5 * math.pi])


def test_a_lying_drawing_is_turned_by_a_quarter_not_mirrored() -> None:
    body = RoundBody(40, 100, lying=True)
    wrapped = wrap(artwork(Path.polygon([10 + 10j, 30 + 10j, 10 + 16j])), body, B.CHUCK)
    points = wrapped.artwork.marks[0].path.points[:3]
    # along the axis as drawn, round it at 360 / 40 mm for each mm: the drawing itself, stretched across
    assert points.tolist() == pytest.approx([10 + 90j, 30 + 90j, 10 + 144j])


def test_distortion_by_hand() -> None:
    none = distortion_of(
        [strain_of(LabelMap(Sector.of(frustum(276, 224, slant=150)), 0, 0), np.array([5 + 5j]))]
    )
    assert none.length == none.angle == none.area == (0.0, 0.0)
    rim = RimMap(Wrapper.of(B.CONE, B.CHUCK).profile, 0.0, 0.0)
    found = distortion_of([strain_of(rim, np.array([0 + 75j, 40 + 75j]))])
    lean = 40 * (276 - 224) / 150 / 250  # x · r' / r, in circumferences
    # a shear by k: greatest stretch k/2 + sqrt(1 + k²/4), no change of area, angles off by 2 atan(k/2)
    worst = lean / 2 + math.sqrt(1 + lean**2 / 4) - 1
    assert found.length == pytest.approx((worst, worst / 2))
    assert found.angle[0] == pytest.approx(math.degrees(2 * math.atan(lean / 2)))
    assert found.area == pytest.approx((0, 0), abs=1e-12)
    turn = distortion_of([strain_of(TurnMap(rim.profile, 250.0), np.array([3 + 0j, 3 + 150j]))])
    assert turn.length == pytest.approx((26 / 250, 26 / 250))
    assert turn.area[0] == pytest.approx(26 / 250)


@given(st.floats(20, 400), st.lists(st.tuples(st.floats(0, 1.2), st.floats(0, 6.3)), min_size=1, max_size=9))
def test_a_cap_there_and_back_with_true_lengths_from_its_middle(radius, places) -> None:
    cap = CapMap(radius, 50 + 40j)
    drawn = np.array([50 + 40j + radius * lean * np.exp(1j * turn) for lean, turn in places])
    seen = cap.to_surface(drawn)
    assert np.abs(cap.to_drawing(seen) - drawn).max() < 1e-9
    # on the sphere, from its top: R sin φ across, R (1 - cos φ) down
    lean = np.array([lean for lean, _ in places])
    assert np.abs(seen - cap.middle) == pytest.approx(radius * np.sin(lean))
    assert cap.depth(drawn) == pytest.approx(radius * (1 - np.cos(lean)), abs=1e-9)


def test_a_cap_against_numeric_integration() -> None:
    cap, reach = CapMap(80.0, 0j), 60.0
    across = float(cap.to_surface(np.array([reach + 0j]))[0].real)
    length, _ = quad(lambda x: 1 / math.sqrt(1 - (x / 80) ** 2), 0, across)
    assert length == pytest.approx(reach, abs=1e-9)


def test_a_bowl_and_a_flat_side() -> None:
    bowl = RoundBody(110, 110, surface=Surface.CAP, sagitta=14)
    wrapped = StillWrapper.of(bowl, focus=1.0).wrap(artwork(circle(55 + 55j, 40)))
    assert wrapped.numbers.diameter == pytest.approx(2 * (55**2 + 14**2) / 28)
    assert [p.code for p in wrapped.problems] == ["out-of-focus"]
    box = wrapped.artwork.marks[0].path.bounds()
    assert box.width == pytest.approx(2 * 115.0357 * math.sin(40 / 115.0357), abs=0.03)
    flat = StillWrapper.of(RoundBody(60, 90, surface=Surface.FLAT), focus=0.1).wrap(
        artwork(circle(30 + 30j, 9))
    )
    assert flat.artwork.marks[0].path == circle(30 + 30j, 9)
    assert flat.problems == ()
    with pytest.raises(LibraryError, match="cannot be 60 mm deep"):
        StillWrapper.of(RoundBody(110, 110, surface=Surface.CAP, sagitta=60))


def test_a_flat_label_is_refused_where_it_would_crease() -> None:
    with pytest.raises(LibraryError, match="follow-the-rim"):
        wrap(
            artwork(circle(100 + 30j, 9)),
            B.body_of(Wrapper.of(B.BULB, B.CHUCK).profile, lay=Lay.LABEL),
            B.CHUCK,
        )


@pytest.mark.parametrize(
    "stations", [((0.0, 250.0),), ((0.0, 250.0), (0.0, 200.0), (0.0, 250.0)), ((0.0, 2.0), (50.0, 1.5))]
)
def test_bodies_that_cannot_be_are_refused(stations) -> None:
    with pytest.raises(LibraryError) as caught:
        Wrapper.of(RoundBody(250, 100, stations=stations), B.CHUCK)
    assert caught.value.hint


@given(st.sampled_from([B.CONE, B.BULB]), st.integers(2, 5))
def test_what_came_before_is_laid_as_if_it_were_new(body: RoundBody, times: int) -> None:
    """A department's name comes again and again: it is remembered, and nothing of it may change."""
    body = replace(body, hide_seam=True, places=(Place("front", 90), Place("back", 270)))
    design = Path.joined([rectangle(40, 20, 30, 12), rectangle(160, 20, 30, 12)])
    known = Wrapper.of(body, B.CHUCK)
    for number in range(times):
        piece = artwork(design, rectangle(55.0 + number, 50, 8, 5))
        again, new = known.wrap(piece), Wrapper.of(body, B.CHUCK).wrap(piece)
        assert again.artwork == new.artwork
        assert again.on_surface == new.on_surface
        assert (again.numbers, again.problems) == (new.numbers, new.problems)
    assert len(known.known) == times + 1
