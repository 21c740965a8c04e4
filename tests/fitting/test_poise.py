"""Lines placed by their weight: within the area, by the centre of mass, common edges."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from render.fitting import fit_order
from render.fitting.poise import poised
from render.geometry import Path
from render.geometry.bending import curves_of, on_curves
from render.geometry.shapes import circle, ellipse, rectangle
from render.lettering import Letterer, Shelf
from render.lettering.weights import weight_of
from render.model import Align, Anchor, Balance, FitRule, LetterRequest, Operation, Setting, SizePolicy
from render.resources import folder

NAMES = ["Juno", "Quincy", "Till", "Otto", "Billi", "Joy"]


@pytest.fixture(scope="module")
def letterer() -> Letterer:
    return Letterer(Shelf((folder("fonts_open"),)))


def both(letterer, font, area, **rule):
    """As their boxes place them, and as their weight does."""
    fit = FitRule(
        **({"policy": SizePolicy.SET, "largest": 9, "smallest": 2, "balance": Balance.MASS} | rule),
        joined=letterer.joined(font),
    )
    asked = [LetterRequest(n, "s", n, Setting(font), Operation.ENGRAVE, fit, area) for n in NAMES]
    plain = fit_order(asked, letterer.line, letterer.skyline)
    return plain, poised(plain, letterer.weight)


def centre(path: Path) -> complex:
    """Centre of mass by shapely."""
    middle = polygon(path).centroid
    return complex(middle.x, middle.y)


def polygon(path: Path) -> shapely.Geometry:
    whole = shapely.Polygon()
    for contour in path.contours():
        c = curves_of(contour).controls
        at = on_curves(c, np.broadcast_to(np.arange(32) / 32, (len(c), 32))).reshape(-1)
        whole = whole.symmetric_difference(shapely.Polygon(np.stack((at.real, at.imag), axis=1)).buffer(0))
    return whole


@pytest.mark.parametrize("font", ["montserrat", "great-vibes"])
def test_the_centre_of_mass_lies_in_the_middle(letterer, font) -> None:
    plain, moved = both(letterer, font, rectangle(0, 0, 90, 30), anchor=Anchor.INK)
    for path in letterer.outlines([value.lines for value in moved]):
        assert centre(path) == pytest.approx(45 + 15j, abs=0.01)
    before = [centre(path) for path in letterer.outlines([value.lines for value in plain])]
    assert max(abs(at - (45 + 15j)) for at in before) > 0.3
    assert [v.lines[0].size for v in plain] == [v.lines[0].size for v in moved]


def test_on_a_common_baseline_only_sideways(letterer) -> None:
    plain, moved = both(letterer, "great-vibes", rectangle(0, 0, 90, 30))
    for one, other in zip(plain, moved, strict=True):
        assert one.lines[0].origin.imag == other.lines[0].origin.imag
    assert any(abs(a.lines[0].origin - b.lines[0].origin) > 0.1 for a, b in zip(plain, moved, strict=True))


@pytest.mark.parametrize("align", [Align.START, Align.END])
def test_edges_seen_by_the_eye_agree_and_no_ink_leaves_the_area(letterer, align) -> None:
    _, moved = both(letterer, "montserrat", rectangle(0, 0, 90, 30), align=align)
    seen = []
    for value in moved:
        (line,) = value.lines
        weight = letterer.weight(line.line)
        edge = weight.left if align is Align.START else weight.right
        seen.append(line.origin.real + edge * line.size)
        box = line.line.ink.scaled(line.size).moved(line.origin.real, line.origin.imag)
        assert box.x0 >= -1e-6 and box.x1 <= 90 + 1e-6  # noqa: PT018
    assert max(seen) - min(seen) < 0.05


@pytest.mark.parametrize("anchor", list(Anchor))
def test_tight_places_hold_it_back(letterer, anchor) -> None:
    """As large as an oval allows there is hardly any room to move."""
    area = ellipse(30 + 20j, 30, 12)
    plain, moved = both(letterer, "great-vibes", area, policy=SizePolicy.EACH, largest=40, anchor=anchor)
    room = shapely.affinity.scale(shapely.Point(30, 20).buffer(1, quad_segs=256), 30.02, 12.02)
    for path in letterer.outlines([value.lines for value in moved]):
        assert room.contains(polygon(path))
    assert [v.lines[0].size for v in plain] == [v.lines[0].size for v in moved]


def test_only_where_the_rule_says_so_and_never_along_a_path(letterer) -> None:
    plain, _ = both(letterer, "montserrat", rectangle(0, 0, 90, 30), balance=Balance.BOX)
    assert poised(plain, letterer.weight) == plain
    rule = FitRule(largest=6, smallest=2, balance=Balance.MASS)
    asked = LetterRequest(
        "p", "s", "Juno", Setting("montserrat"), Operation.ENGRAVE, rule, circle(0, 60), circle(0, 30)
    )
    fitted = fit_order([asked], letterer.line)
    assert poised(fitted, letterer.weight) == fitted


def test_weight_of_plain_shapes() -> None:
    """A bar weighs in its middle; of a bar with a long thin tail the eye sees the bar's edge."""
    bar = weight_of(rectangle(0, -0.7, 0.2, 0.7))
    assert (bar.x, bar.y) == pytest.approx((0.1, -0.35))
    assert (bar.left, bar.right) == pytest.approx((0.012 / 0.7, 0.2 - 0.012 / 0.7), abs=0.002)
    tailed = weight_of(Path.joined((rectangle(0, -0.7, 0.2, 0.7), rectangle(-0.4, -0.02, 0.4, 0.02))))
    assert tailed.left == pytest.approx((0.012 - 0.008) / 0.72, abs=0.01)
    strokes = weight_of(Path.polyline((0j, 1 + 0j, 1 - 1j)))
    assert (strokes.x, strokes.y) == pytest.approx((0.75, -0.25))
    assert weight_of(Path.empty()) is None
