"""A blank with what is marked on it, drawn to look like the thing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final, Protocol

from render.geometry import Affine, Path
from render.geometry.shapes import line, rectangle
from render.model import Artwork, Blank, Material, Operation, RoundBody, Surface
from render.proof.hatching import hatching
from render.proof.palette import HATCH, MUTED, edge_of, luminance

Look = Mapping[str, str | float]


class Sink(Protocol):
    """Takes shapes from back to front, as :class:`render.proof.canvas.Canvas` does."""

    def draw(self, path: Path, look: Look) -> None:
        """Add a path in mm with SVG's presentation attributes; ``_`` in their names stands for ``-``."""
        ...


SHADOW: Final = (1.3, 1.0, 0.7, 0.4)
"""Widths of the lines that make the soft shadow, laid over each other, mm on the page."""
SHADOW_SHIFT: Final = (0.2, 0.3)
"""How far the shadow falls to the right and down, mm on the page."""
SHADOW_LOOK: Final[Look] = {"fill": "none", "stroke": "#3A2F1B", "stroke_opacity": 0.045,
                            "stroke_linejoin": "round"}  # fmt: skip
FRONT: Final = 0.5
"""Share of a round thing's turn that is seen from the front: half, foreshortened towards its ends."""

_HATCH_SPACING: Final = 1.3
_EDGE: Final = 0.12
_CUT: Final = 0.2
_SCORE: Final = 0.2


@dataclass(frozen=True, slots=True)
class Thing:
    """A blank of a material, ready to be drawn many times.

    Attributes:
        silhouette: outline and holes together, to be filled by the even-odd rule.
        own: contours that the blank's own drawing already shows, so that artwork need not repeat them.
        hatch: hatching over the silhouette.
    """

    blank: Blank
    material: Material
    silhouette: Path
    own: frozenset[Path]
    hatch: Path

    @classmethod
    def of(cls, blank: Blank, material: Material, scale: float) -> Thing:
        """Prepare a blank that will be shown `scale` mm on the page for each of its own."""
        silhouette = Path.joined((blank.outline, *blank.holes))
        own = frozenset(
            part for path in (blank.outline, *blank.holes, *blank.folds) for part in path.contours()
        )
        return cls(blank, material, silhouette, own, hatching(silhouette, _HATCH_SPACING / scale))

    def draw(self, canvas: Sink, to_page: Affine, artwork: Artwork | None) -> None:
        """Draw it; without artwork as a hatched empty shape: what is held back."""
        if artwork is None:
            self._draw_held(canvas, to_page)
            return
        self.draw_blank(canvas, to_page, artwork)
        self.draw_marks(canvas, to_page, artwork)
        self.draw_rim(canvas, to_page, artwork)

    def draw_blank(self, canvas: Sink, to_page: Affine, artwork: Artwork) -> None:
        """Draw the thing without what is marked on it, but less what is cut out of it."""
        shape = self._shape(artwork).transformed(to_page)
        fallen = shape.moved(*SHADOW_SHIFT)
        for width in SHADOW:
            canvas.draw(fallen, {**SHADOW_LOOK, "stroke_width": width})
        edge = edge_of(self.material.tone)
        canvas.draw(shape, {"fill": self.material.tone, "fill_rule": "evenodd"})
        if self.blank.body is not None:
            _draw_round(canvas, self.blank.body, to_page, self.material.tone)
        for fold in self.blank.folds:
            canvas.draw(
                fold.transformed(to_page), {**_line(edge, _EDGE * 1.5), "stroke_dasharray": "0.9 0.6"}
            )

    def draw_rim(self, canvas: Sink, to_page: Affine, artwork: Artwork) -> None:
        """Draw its edge."""
        shape = self._shape(artwork).transformed(to_page)
        canvas.draw(shape, _line(edge_of(self.material.tone), _EDGE))

    def _shape(self, artwork: Artwork) -> Path:
        """What is left of the thing: its silhouette less what is cut out of it, or what is itself cut out."""
        cuts = artwork.burned(Operation.CUT)
        new = Path.joined(part for part in cuts.contours() if part.is_closed() and part not in self.own)
        if not self.blank.outline_cut:
            return Path.joined((new, *self.blank.holes)) if new else self.silhouette
        return Path.joined((self.silhouette, new)) if new else self.silhouette

    def operations(self, artworks: Iterable[Artwork]) -> set[Operation]:
        """What is to be seen burned on any of them; scores only where they are not the blank's own folds."""
        found = set()
        for artwork in artworks:
            for mark in artwork.marks:
                is_fold = mark.operation is Operation.SCORE and self.own.issuperset(mark.path.contours())
                if mark.operation not in found and not is_fold:
                    found.add(mark.operation)
        return found

    def draw_marks(self, canvas: Sink, to_page: Affine, artwork: Artwork) -> None:
        """Draw what is burned, less what the blank's own rims and folds show already."""
        looks = looks_of(self.material)
        for mark in artwork.marks:
            if mark.operation is Operation.ENGRAVE:
                canvas.draw(mark.path.transformed(to_page), looks[mark.operation])
            elif mark.operation in looks:
                rest = Path.joined(part for part in mark.path.contours() if part not in self.own)
                canvas.draw(rest.transformed(to_page), looks[mark.operation])

    def _draw_held(self, canvas: Sink, to_page: Affine) -> None:
        shape = self.silhouette.transformed(to_page)
        canvas.draw(self.hatch.transformed(to_page), _line(HATCH, 0.15))
        canvas.draw(shape, {**_line(MUTED, 0.15), "stroke_dasharray": "1.2 0.8"})


def looks_of(material: Material) -> dict[Operation, Look]:
    """How marks look on a material."""
    return {
        Operation.ENGRAVE: {"fill": material.mark_tone},
        Operation.SCORE: _line(material.mark_tone, _SCORE),
        Operation.CUT: _line(edge_of(material.tone), _CUT),
    }


def _draw_round(canvas: Sink, body: RoundBody, to_page: Affine, tone: str) -> None:
    """The unrolled surface: what lies behind is darker, the seam hatched, the front between dashed lines."""
    if body.surface is not Surface.ROUND:
        return
    turn, height, edge = body.circumference, body.height, edge_of(tone)
    if body.lying:  # drawn with x along the axis: the strips lie across
        to_page = Affine(0, -1, 1, 0, 0, height).inverse().then(to_page)
    shade: Look = {"fill": "#000000", "fill_opacity": 0.1 if luminance(tone) > 0.12 else 0.28}
    for x0, x1 in _behind(body):
        canvas.draw(rectangle(x0, 0, x1 - x0, height).transformed(to_page), shade)
        for x in (x0, x1):
            if 0 < x < turn:
                side = line(complex(x, 0), complex(x, height)).transformed(to_page)
                canvas.draw(side, {**_line(edge, _EDGE), "stroke_dasharray": "0.5 0.7"})
    if body.seam > 0:
        for x in (0.0, turn - body.seam / 2):
            band = rectangle(x, 0, body.seam / 2, height).transformed(to_page)
            canvas.draw(hatching(band, _HATCH_SPACING / 2), _line(edge, _EDGE))


def _behind(body: RoundBody) -> Iterator[tuple[float, float]]:
    """Strips of the unrolled surface that are seen from none of its places, or not from its middle, mm."""
    turn, half = body.circumference, body.circumference * FRONT / 2
    middles = sorted(turn * place.at / 360 for place in body.places) or [turn / 2]
    end = max(middles[-1] + half - turn, 0.0)
    for middle in middles:
        if middle - half > end + 1e-9:
            yield end, middle - half
        end = max(end, middle + half)
    last = min(turn, turn + middles[0] - half)
    if last > end + 1e-9:
        yield end, last


def _line(colour: str, width: float) -> Look:
    """A line and no filling."""
    return {"fill": "none", "stroke": colour, "stroke_width": width}
