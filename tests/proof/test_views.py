"""What is seen of a thing: how many sides, where the marks are, what is hidden."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from render.geometry import Affine, Path
from render.geometry.shapes import rectangle
from render.geometry.solids import Profile
from render.model import Artwork, Mark, Operation, Place, RoundBody
from render.proof.inside import Inner
from render.proof.shown import Shown
from render.proof.things import Look
from render.proof.views import RIM, Seen, views_of


class Kept:
    """Keeps what is drawn."""

    def __init__(self) -> None:
        self.drawn: list[tuple[Path, Look]] = []

    def draw(self, path: Path, look: Look) -> None:
        if path:
            self.drawn.append((path, look))


def marks(view: Seen, shown: Shown, number: int) -> Kept:
    kept = Kept()
    view.layers[1](kept, shown.pieces[number])
    return kept


def test_a_flat_thing_has_one_side_and_a_round_one_two(shown: Shown, turning: Shown) -> None:
    assert [view.name for view in views_of(shown, (60, 60))] == [""]
    assert [view.name for view in views_of(turning, (60, 60))] == ["front", "back"]


def test_drawings_fill_the_room_they_have(shown: Shown, turning: Shown) -> None:
    (flat,) = views_of(shown, (60, 60))
    assert flat.size == pytest.approx((60, (60 - 2 * RIM) * 24 / 60 + 2 * RIM))
    front, back = views_of(turning, (300, 60))
    assert front.size == back.size
    assert front.size[1] == pytest.approx(60)


def test_everything_drawn_lies_on_its_page(shown: Shown, turning: Shown) -> None:
    for proof in (shown, turning):
        for view in views_of(proof, (80, 60)):
            kept = Kept()
            for layer in view.layers:
                layer(kept, proof.pieces[0])
            for path, _ in kept.drawn:
                box = path.bounds()
                assert min(box.x0, box.y0) > 0.4
                assert box.x1 < view.size[0] - 0.4
                assert box.y1 < view.size[1] - 0.4


def test_what_is_in_front_is_not_seen_from_behind(turning: Shown) -> None:
    """Piece 0 is marked from 90 to 110 mm, the middle of the front; piece 1 from -5 to 15, at the seam."""
    front, back = views_of(turning, (80, 60))
    assert [len(marks(view, turning, 0).drawn) for view in (front, back)] == [1, 0]
    assert [len(marks(view, turning, 1).drawn) for view in (front, back)] == [0, 1]


def test_marks_are_as_wide_as_the_sine_says(turning: Shown) -> None:
    """A bar of 20 mm about the middle of the front, its edges at a = ±10 mm / r; the eye d = 14 r away.

    By central projection an edge is seen at r sin a · d / (d - r cos a), and the horizon of the body at
    r d / sqrt(d² - r²). The eye is a little above, which makes the upper rim a hundredth wider.
    """
    front, _ = views_of(turning, (80, 60))
    kept = Kept()
    front.layers[0](kept, turning.pieces[0])
    body = max(path.bounds().width for path, look in kept.drawn if "fill" in look)
    ((mark, _),) = marks(front, turning, 0).drawn
    edge = 10 / (200 / (2 * math.pi))
    share = math.sin(edge) * 14 / (14 - math.cos(edge)) / (14 / math.sqrt(14**2 - 1))
    assert mark.bounds().width / body == pytest.approx(share, rel=0.02)
    assert mark.bounds().centre.x == pytest.approx(front.size[0] / 2, abs=0.01)


def test_a_long_thing_is_shown_side_below_side(turning: Shown) -> None:
    body = turning.blank.body
    assert body is not None
    lying = replace(turning, blank=replace(turning.blank, body=replace(body, lying=True)))
    upright = views_of(turning, (80, 60))[0].size
    turned = views_of(lying, (80, 60))[0].size
    assert np.sign(upright[0] - upright[1]) == -np.sign(turned[0] - turned[1])


@pytest.fixture
def ring(turning: Shown) -> Shown:
    """A ring of 60 mm round and 6 mm high, marked inside: piece 0 where its front is, piece 1 at the back."""
    body = RoundBody(60, 6, inside=True, places=(Place("front", 180),))
    pieces = []
    for number, piece in enumerate(turning.pieces):
        x = 30.0 if number == 0 else 0.0
        drawn = rectangle(x, 2, 4, 2)  # begins in the middle, and goes on to the right
        laid = Path(drawn.commands, drawn.points.real / 60 * 2 * math.pi + 1j * drawn.points.imag)
        surface = Artwork(piece.id, "", (Mark(Operation.ENGRAVE, laid),))
        artwork = Artwork(piece.id, "", (Mark(Operation.ENGRAVE, drawn),))
        pieces.append(replace(piece, artwork=artwork, surface=surface))
    blank = replace(turning.blank, outline=rectangle(0, 0, 60, 6), body=body)
    return replace(turning, blank=blank, pieces=tuple(pieces), profile=Profile.straight(60, 6))


def test_a_ring_is_looked_into_and_unrolled(ring: Shown) -> None:
    inside, flat = views_of(ring, (80, 60))
    assert (inside.name, flat.name) == ("inside", "unrolled")
    assert inside.size == flat.size == (80, 30)
    ((mark, _),) = marks(inside, ring, 0).drawn
    box, middle = mark.bounds(), inside.size[0] / 2
    assert box.x0 == pytest.approx(middle, abs=0.05)  # reads from left to right, seen from inside
    assert box.x1 > middle + 1
    assert box.y1 < inside.size[1] / 2  # on the far side, which lies higher in the picture
    ((hidden, _),) = marks(inside, ring, 1).drawn
    assert hidden.bounds().width < 1e-9  # at the back of him who looks: gone to the edge
    ((unrolled, _),) = marks(flat, ring, 0).drawn
    assert unrolled.bounds().width == pytest.approx(4 / 60 * (80 - 2 * RIM))


def test_the_far_wall_is_seen_as_three_dimensions_have_it(ring: Shown) -> None:
    """The same places turned by scipy's rotation, as the eye above sees them."""
    assert ring.blank.body is not None
    assert ring.profile is not None
    inner = Inner.of(ring.blank, ring.blank.body, ring.profile)
    (mark,) = ring.pieces[0].surface.marks  # type: ignore[union-attr]
    r = 60 / (2 * math.pi)
    theta, down = mark.path.points.real - math.pi, mark.path.points.imag
    # x to the right, y away from the eye, z up; then the eye rises by the elevation
    space = np.stack((r * np.sin(theta), r * np.cos(theta), -down), axis=1)
    seen = Rotation.from_euler("x", inner.elevation, degrees=True).apply(space)
    sink = Kept()
    inner.draw_marks(sink, ring.pieces[0].surface, ring.material, Affine())  # type: ignore[arg-type]
    points = sink.drawn[0][0].points
    for x, up in zip(seen[:, 0], seen[:, 2], strict=True):
        assert np.abs(points - complex(x, -up)).min() < 1e-6
