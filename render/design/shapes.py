"""SVG's shapes as paths (SVG 1.1, chapters 8 and 9)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.design.numbers import FARTHEST_MM, corners, number
from render.design.refusal import Refusal, short
from render.geometry import CLOSE, CUBIC, LINE, MOVE, QUAD, Affine, Path
from render.geometry.curves import chords_needed, evaluate
from render.geometry.pathtext import parse_path
from render.geometry.shapes import ellipse, line, rectangle

Attributes = Mapping[str, str]

MOST_PATH_DATA: Final = 200_000
"""Characters of one path's data; an ornament has a few thousand."""

_AREA_STEP_MM: Final = 0.01
_MOST_CHORDS: Final = 200
_AREA_WEIGHTS: Final = {
    QUAD: {(0, 1): 2 / 3, (0, 2): 1 / 3, (1, 2): 2 / 3},
    CUBIC: {(0, 1): 0.6, (0, 2): 0.3, (0, 3): 0.1, (1, 2): 0.3, (1, 3): 0.3, (2, 3): 0.6},
}
"""Weight of the cross product of each two control points in twice the area under a curve."""


def _get(attributes: Attributes, name: str, otherwise: float | None = None) -> float:
    text = attributes.get(name)
    if text is None:
        if otherwise is None:
            raise Refusal(f"its {name} is missing", f'Add {name}="…".')
        return otherwise
    return number(text, name)


def _extent(attributes: Attributes, name: str) -> float:
    value = _get(attributes, name)
    if value <= 0:
        raise Refusal(f"its {name} is {short(attributes[name])}, not larger than 0", "Draw it again.")
    return value


def _rect(attributes: Attributes) -> Path:
    x, y = _get(attributes, "x", 0.0), _get(attributes, "y", 0.0)
    width, height = _extent(attributes, "width"), _extent(attributes, "height")
    given = {n: max(0.0, _get(attributes, n)) for n in ("rx", "ry") if attributes.get(n, "auto") != "auto"}
    rx = min(given.get("rx", given.get("ry", 0.0)), width / 2)
    ry = min(given.get("ry", given.get("rx", 0.0)), height / 2)
    if rx <= 0 or ry <= 0:
        return rectangle(x, y, width, height)
    if rx == ry:
        return rectangle(x, y, width, height, rx)
    return rectangle(x / rx, y / ry, width / rx, height / ry, 1.0).transformed(Affine.scale(rx, ry))


def _circle(attributes: Attributes) -> Path:
    radius = _extent(attributes, "r")
    return ellipse(complex(_get(attributes, "cx", 0.0), _get(attributes, "cy", 0.0)), radius, radius)


def _ellipse(attributes: Attributes) -> Path:
    centre = complex(_get(attributes, "cx", 0.0), _get(attributes, "cy", 0.0))
    return ellipse(centre, _extent(attributes, "rx"), _extent(attributes, "ry"))


def _line(attributes: Attributes) -> Path:
    x1, y1, x2, y2 = (_get(attributes, name, 0.0) for name in ("x1", "y1", "x2", "y2"))
    return line(complex(x1, y1), complex(x2, y2))


def _polyline(attributes: Attributes) -> Path:
    return Path.polyline(corners(attributes.get("points", "")))


def _polygon(attributes: Attributes) -> Path:
    return Path.polygon(corners(attributes.get("points", "")))


def _path(attributes: Attributes) -> Path:
    data = attributes.get("d", "")
    if len(data) > MOST_PATH_DATA:
        raise Refusal(f"its path data is longer than {MOST_PATH_DATA:,} characters", "Simplify the path.")
    try:
        path = parse_path(data)
    except ValueError as error:
        raise Refusal(f"its d is {short(data)}, which is not path data", "Draw it again.") from error
    if not path:
        raise Refusal("its path is empty", "Delete it, or draw it again.")
    return path


SHAPES: Final[Mapping[str, Callable[[Attributes], Path]]] = {
    "rect": _rect,
    "circle": _circle,
    "ellipse": _ellipse,
    "line": _line,
    "polyline": _polyline,
    "polygon": _polygon,
    "path": _path,
}
"""How each of SVG's shapes becomes a path, in its own coordinates."""


def shape(tag: str, attributes: Attributes, affine: Affine) -> Path:
    """The path of a shape, in the drawing's mm.

    Raises:
        Refusal: an attribute is missing or wrong, or a point lies absurdly far out.
    """
    return placed(SHAPES[tag](attributes), affine)


def placed(path: Path, affine: Affine) -> Path:
    """A path in its own coordinates, in the drawing's mm.

    Raises:
        Refusal: a point lies absurdly far out.
    """
    path = path.transformed(affine)
    if not np.abs(path.points.view(np.float64)).max() <= FARTHEST_MM:  # also false for NaN
        raise Refusal("a point of it lies more than ten metres away", "Check its numbers and transforms.")
    return path


def flattened(contour: Path, tolerance: float = _AREA_STEP_MM) -> NDArray[np.complex128]:
    """The corners, x + iy, of one contour with its curves as chords within `tolerance` mm."""
    corners_: list[complex] = contour.points[:1].tolist()
    for command, first in zip(contour.commands.tolist(), contour.first_points().tolist(), strict=True):
        if command == LINE:
            corners_.append(contour.points[first])
        elif command in (QUAD, CUBIC):
            curve = contour.points[first - 1 : first + command]
            steps = min(chords_needed(curve, tolerance), _MOST_CHORDS)
            corners_ += evaluate(curve, np.linspace(0, 1, steps + 1)[1:]).tolist()
    return np.array(corners_)


def signed_area(path: Path) -> float:
    """Area within closed contours, mm²; positive where they run clockwise as seen, negative where back.

    Half the integral of x dy - y dx, in the Bernstein form of lines, quadratics and cubics: derived here.
    """
    first, z = path.first_points(), path.points
    starts = z[first[path.commands == MOVE]]
    closing = np.flatnonzero(path.commands == CLOSE)
    twice = _cross(z[first[closing] - 1], starts).sum()
    lines = first[path.commands == LINE]
    twice += _cross(z[lines - 1], z[lines]).sum()
    for degree, weights in _AREA_WEIGHTS.items():
        at = first[path.commands == degree] - 1
        twice += sum(w * _cross(z[at + i], z[at + j]).sum() for (i, j), w in weights.items())
    return float(twice / 2)


def _cross(one: NDArray[np.complex128], two: NDArray[np.complex128]) -> NDArray[np.float64]:
    return np.asarray(one.real * two.imag - one.imag * two.real)


def turned_round(contour: Path) -> Path:
    """The same closed contour, run the other way."""
    inner = contour.commands[1:-1][::-1]
    return Path(np.concatenate(([MOVE], inner, [CLOSE])).astype(np.uint8), contour.points[::-1].copy())


def outward(path: Path) -> Path:
    """A closed path run so that its whole area is positive: overlapping fills then add up, never cancel."""
    if signed_area(path) >= 0:
        return path
    return Path.joined(turned_round(contour) for contour in path.contours())


def non_zero(path: Path) -> Path:
    """The non-zero path that fills what `path` fills by the even-odd rule.

    Each contour is run clockwise or back by how many others it lies in.

    Raises:
        Refusal: contours cross, so that turning them round is not enough.
    """
    from shapely import Polygon

    contours = list(path.contours())
    if len(contours) == 1:
        return path
    rings = [Polygon([(p.real, p.imag) for p in flattened(contour)]) for contour in contours]
    for index, ring in enumerate(rings):
        if not ring.is_valid or any(ring.boundary.crosses(other.boundary) for other in rings[:index]):
            hint = "Unite its parts in the vector editor, or set fill-rule to nonzero."
            raise Refusal("it is filled by the even-odd rule and its contours cross", hint)
    turned = []
    for index, contour in enumerate(contours):
        inside = sum(other.contains(rings[index]) for k, other in enumerate(rings) if k != index)
        clockwise = signed_area(contour) > 0
        turned.append(contour if clockwise == (inside % 2 == 0) else turned_round(contour))
    return Path.joined(turned)
