"""What is made in mirror image is shown the right way round; only its sheets are mirrored."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from render.geometry import Path
from render.geometry.bending import curves_of, on_curves
from render.model import Artwork, Operation, Order, Piece
from render.pipeline.artworks import Lettered, letter_order
from render.pipeline.proofing import proof_of_table
from render.pipeline.seeing import INK, seen_thing
from render.pipeline.stallview import View
from render.pipeline.workshop import Job, Workshop
from render.proof.shown import ShopWords

NAMES = ("Ingrid Halloran", "Łucja")


def nobody(_stage: str, _done: int, _total: int) -> None:
    """Nobody watches."""


def order(names: Sequence[str] = NAMES) -> Order:
    return Order("o", tuple(Piece(f"p{k}", k, {"name": name}) for k, name in enumerate(names, 2)))


def lettered(template: str) -> tuple[Job, Lettered]:
    workshop = Workshop.open()
    job = workshop.job(template)
    return job, letter_order(order(), job, workshop.letterer(), workshop, 1, nobody)


def along(contour: Path) -> NDArray[np.complex128]:
    """Points on a contour, 16 to a curve."""
    c = curves_of(contour).controls
    return on_curves(c, np.broadcast_to(np.arange(16) / 16, (len(c), 16))).reshape(-1)


def filled(path: Path) -> shapely.Geometry:
    """What the non-zero rule fills: the contours, taken together by their winding."""
    layers: list[tuple[shapely.Geometry, int]] = []
    for contour in path.contours():
        at = along(contour)
        ring = shapely.Polygon(np.stack((at.real, at.imag), 1))
        turn = 1 if (at.conj() * np.roll(at, -1)).imag.sum() > 0 else -1
        layers.append((ring.buffer(0), turn))
    lines = shapely.union_all([ring.boundary for ring, _ in layers])
    faces = shapely.get_parts(shapely.polygonize([lines]))
    points = [face.representative_point() for face in faces]
    wound = [sum(turn for ring, turn in layers if ring.covers(p)) for p in points]
    return shapely.union_all([face for face, turns in zip(faces, wound, strict=True) if turns])


def test_a_panel_engraved_from_behind_is_shown_from_the_front() -> None:
    job, made = lettered("edge-lit-panel")
    width = job.template.size[0]
    for artwork, seen in zip(made.artworks, made.seen, strict=True):
        for mark, other in zip(artwork.marks, seen.marks, strict=True):
            assert np.allclose(mark.path.points, width - np.conjugate(other.path.points))
    blank, material = seen_thing(job)
    assert np.allclose(blank.outline.points, width - np.conjugate(job.blank.outline.points))
    assert (blank.title, material) == (f"{job.blank.title}, from the front", job.material)


def test_a_stamp_is_shown_by_its_print() -> None:
    """What stands takes ink: of the rubber all but the ground and the shoulder, mirrored."""
    job, made = lettered("name-stamp")
    for artwork, seen in zip(made.artworks, made.seen, strict=True):
        ground = filled(artwork.burned(Operation.ENGRAVE))
        face = shapely.affinity.scale(filled(seen.burned(Operation.ENGRAVE)), -1, 1, origin=(30, 0))
        assert face.intersection(ground).area < 1e-6
        lines = np.concatenate([along(c) for c in artwork.burned(Operation.SCORE).contours()])
        inked = shapely.points(lines.real, lines.imag)
        assert shapely.distance(face, inked).min() == pytest.approx(job.machine.spot / 2, abs=0.01)
        assert face.distance(ground) == pytest.approx(0.4, abs=0.01)  # the shoulder that the template asks
        assert face.bounds == pytest.approx((1, 1, 59, 24), abs=0.01)  # its outer border
        assert not seen.burned(Operation.SCORE)
    assert seen_thing(job)[1].mark_tone == INK


@pytest.mark.parametrize(("template", "words"), [("name-stamp", "prints"), ("edge-lit-panel", "from behind")])
def test_customers_see_and_approve_the_same_thing(template: str, words: str) -> None:
    workshop = Workshop.open()
    job = workshop.job(template)
    made = proof_of_table(order(), job, workshop, ShopWords(), 1, nobody)
    artworks = lettered(template)[1].artworks
    for piece, artwork in zip(made.shown.pieces, artworks, strict=True):
        assert piece.digest == artwork.digest()  # of what is burned, not of what is shown
        assert piece.artwork is not None
        assert piece.artwork.digest() != piece.digest
        assert words in piece.notes[0]
    assert not [p for p in made.shown.pieces if len(p.notes) != len(set(p.notes))]


def test_what_is_not_mirrored_is_shown_as_it_is() -> None:
    job, made = lettered("place-card")
    assert made.seen is made.artworks
    assert seen_thing(job) == (job.blank, job.material)


def test_the_stall_shows_the_print() -> None:
    job, made = lettered("name-stamp")
    seen: Artwork = made.seen[0]
    assert INK in View.of(job).svg(seen)
