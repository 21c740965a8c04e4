"""Lines along curves, stitched from what is known of turned pairs, against one plain union."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from render.fitting import fit_order
from render.geometry import Affine, Path
from render.geometry.bending import curves_of, on_curves
from render.geometry.shapes import circle
from render.lettering import Letterer, Shelf
from render.model import FitRule, Fitted, LetterRequest, Operation, Setting
from render.resources import folder

RIM = circle(0, 30).transformed(Affine.rotation(90))
ROOM = circle(0, 60)
NAMES = [
    "Josephine Ng",
    "Łukasz Wójcik",
    "Quentin Fjord",
    "Tamsin Penhaligon",
    "Zoë",
    "ff fi Affinity",
    "WAVE Tyl",
]


@pytest.fixture(scope="module")
def letterer() -> Letterer:
    return Letterer(Shelf((folder("fonts_open"),)))


def polygons(path: Path) -> list[shapely.Polygon]:
    """The contours as fine polygons, with their direction kept in the sign of their area."""
    found = []
    for contour in path.contours():
        controls = curves_of(contour).controls
        t = np.broadcast_to(np.arange(24) / 24, (len(controls), 24))
        at = on_curves(controls, t).reshape(-1)
        found.append(np.stack((at.real, at.imag), axis=1))
    return found


def signed(ring: np.ndarray) -> float:
    x, y = ring.T
    return float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2)


def fitted(letterer: Letterer, font: str, path: Path, names: list[str]) -> list[Fitted]:
    rule = FitRule(largest=7, smallest=2, joined=letterer.joined(font), optical=0.5)
    return list(
        fit_order(
            [
                LetterRequest(f"p{k}", "n", n, Setting(font), Operation.ENGRAVE, rule, ROOM, path)
                for k, n in enumerate(names)
            ],
            letterer.line,
        )
    )


def glyph_by_glyph(letterer: Letterer, each: Fitted) -> shapely.Geometry:
    """All glyphs where they stand, by shapely's union of fine polygons."""
    (line,) = each.lines
    _, run = letterer._set(line.line.text, line.line.setting)
    whole = []
    for gid, x, y, cluster in zip(run.gids, run.xs, run.ys, run.clusters, strict=True):
        glyph = letterer._assembler.glyph(run.font_key, gid)
        shape = shapely.Polygon()
        for contour in glyph.contours:
            points = np.concatenate([np.linspace(0, 1, 24, endpoint=False)])
            parts = []
            for s in contour.segments():
                c = (
                    np.array([s[0], s[0] + (s[1] - s[0]) * 2 / 3, s[2] + (s[1] - s[2]) * 2 / 3, s[2]])
                    if s.size == 3
                    else s
                )
                c = (
                    c
                    if c.size == 4
                    else np.array([s[0], s[0] + (s[-1] - s[0]) / 3, s[-1] - (s[-1] - s[0]) / 3, s[-1]])
                )
                parts.append(on_curves(c[None], points[None])[0])
            at = np.conjugate(np.concatenate(parts) + complex(x - run.pens[cluster], y)) / run.upem
            at = line.turns[cluster].apply(at)
            shape = shape.symmetric_difference(
                shapely.Polygon(np.stack((at.real, at.imag), axis=1)).buffer(0)
            )
        whole.append(shape)
    return shapely.union_all(whole)


@pytest.mark.parametrize("font", ["great-vibes", "pacifico", "dancing-script", "montserrat", "eb-garamond"])
def test_it_is_the_union_of_its_glyphs(font: str, letterer: Letterer) -> None:
    """Shapely 2 (GEOS overlay) on polygons of 24 chords a curve: area within 0.1 %, winding once."""
    every = [each for each in fitted(letterer, font, RIM, NAMES) if each.lines]
    assert len(every) >= 5
    for each, path in zip(every, letterer.outlines([f.lines for f in every]), strict=True):
        rings = polygons(path)
        expected = glyph_by_glyph(letterer, each)
        assert abs(sum(signed(ring) for ring in rings)) == pytest.approx(expected.area, rel=1e-3), (
            each.request.text
        )
        even = shapely.Polygon()
        for ring in rings:
            even = even.symmetric_difference(shapely.Polygon(ring).buffer(0))
        assert even.symmetric_difference(expected).area < 2e-3 * expected.area


def test_pairs_are_known_again_wherever_they_stand_on_the_circle(letterer: Letterer) -> None:
    own = Letterer(letterer.shelf)
    first = fitted(own, "great-vibes", RIM, ["nana"])
    own.outlines([f.lines for f in first])
    turner = next(iter(own._assembler._turners.values()))
    known = len(turner._meetings)
    again = fitted(own, "great-vibes", RIM.transformed(Affine.rotation(73)), ["nana"])
    own.outlines([f.lines for f in again])
    assert len(turner._meetings) == known > 0
