"""Lines along curves, traced from crossing to crossing, against one plain union."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
import shapely

from render.fitting import fit_order
from render.geometry import Affine, Path
from render.geometry.bending import curves_of, on_curves
from render.geometry.shapes import circle, wave
from render.lettering import Letterer, Shelf
from render.lettering.crossings import Laid
from render.lettering.outlines import GlyphReader
from render.lettering.stitch import Stitcher
from render.lettering.traced import Traced, trace
from render.lettering.turned import Turner
from render.model import FitRule, Fitted, LetterRequest, Operation, Setting
from render.resources import folder
from render.units import to_um

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


def test_a_wave_is_no_worse_than_a_circle(letterer: Letterer) -> None:
    """As above, where no pair of letters stands to each other as any other pair does."""
    axis = wave(-30 + 0j, 30 + 0j, 5, 1.5)
    every = [each for each in fitted(letterer, "great-vibes", axis, NAMES) if each.lines]
    for each, path in zip(every, letterer.outlines([f.lines for f in every]), strict=True):
        even = shapely.Polygon()
        for ring in polygons(path):
            even = even.symmetric_difference(shapely.Polygon(ring).buffer(0))
        expected = glyph_by_glyph(letterer, each)
        assert even.symmetric_difference(expected).area < 2e-3 * expected.area


def test_a_line_is_the_same_alone_as_among_many(letterer: Letterer) -> None:
    every = [f.lines for f in fitted(letterer, "great-vibes", RIM, NAMES * 6)]
    together = letterer.outlines(every)
    alone = [letterer.outlines([lines])[0] for lines in every[: len(NAMES)]]
    for one, other in zip(alone, together, strict=False):
        assert one.commands.tobytes() == other.commands.tobytes()
        assert to_um(one.points).tolist() == to_um(other.points).tolist()


def test_what_cannot_be_traced_is_united_as_a_whole(
    letterer: Letterer, monkeypatch: pytest.MonkeyPatch
) -> None:
    every = [f.lines for f in fitted(letterer, "pacifico", RIM, NAMES)]
    traced = letterer.outlines(every)

    def fails(laid: Laid) -> Traced:
        return replace(trace(laid), failed=np.ones(len(laid.lines) - 1, bool))

    monkeypatch.setattr("render.lettering.turned.trace", fails)
    for one, other in zip(traced, letterer.outlines(every), strict=True):
        ours, theirs = (abs(sum(signed(ring) for ring in polygons(path))) for path in (one, other))
        assert ours == pytest.approx(theirs, rel=2e-4)


@pytest.mark.parametrize("font", ["great-vibes", "pacifico", "dancing-script", "eb-garamond"])
def test_hardly_any_line_must_be_united_as_a_whole(font: str, letterer: Letterer) -> None:
    """At most 2 % of lines on a wave, the hardest of paths; and no two contours cross."""
    turner = Turner(Stitcher(GlyphReader(letterer.shelf.find(font).data)))
    names = [f"{a}{b}" for a in NAMES for b in ("", " Jay", " & Kit", " of Rye", "ffley", "quist")]
    axis = wave(-40 + 0j, 40 + 0j, 5, 1.5)
    lines = [
        (letterer._set(line.line.text, line.line.setting)[1], line.turns)
        for each in fitted(letterer, font, axis, names)
        for line in each.lines
    ]
    with pytest.MonkeyPatch.context() as patch:
        united = []
        whole = Turner._at_once
        patch.setattr(Turner, "_at_once", lambda *args: united.append(1) or whole(*args))
        paths = turner.paths(lines)
    assert len(lines) > 35
    assert len(united) <= 0.02 * len(lines) + 1
    for path in paths:
        rings = [shapely.Polygon(ring) for ring in polygons(path)]
        assert all(signed(np.array(ring.exterior.coords)[:-1]) for ring in rings)
        for one, other in itertools.combinations(rings, 2):
            assert not one.exterior.crosses(other.exterior)
