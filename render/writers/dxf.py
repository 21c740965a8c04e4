"""A sheet as DXF: polylines and splines on a layer for each operation, millimetres, and nothing else.

The release of 2010 takes exact splines; release 12, which the oldest controllers read, takes polylines only.
Filled marks are written as their closed outlines.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from enum import StrEnum
from importlib import import_module
from io import StringIO
from logging import ERROR, getLogger
from threading import Lock
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from render.geometry.path import CUBIC, LINE, MOVE, QUAD, Path
from render.geometry.subdivide import subdivided
from render.model import Operation, Sheet
from render.units import UM_PER_MM
from render.writers.arcs import with_bulges
from render.writers.contours import Contour, sheet_contours
from render.writers.svg import DEFAULT_COLOURS, DRAW_ORDER

if TYPE_CHECKING:
    from ezdxf.document import Drawing


class Release(StrEnum):
    """The release of the format."""

    R12 = "R12"
    R2010 = "R2010"


class Curves(StrEnum):
    """What becomes of curves."""

    SPLINES = "splines"
    """Exact; release 2010 only."""
    ARCS = "arcs"
    """Polylines with circular arcs, within the tolerance."""
    LINES = "lines"
    """Polylines of chords, within the tolerance."""


@dataclass(frozen=True, slots=True)
class DxfOptions:
    """How a DXF file is written; `tolerance` mm is the most that arcs or chords leave the true curve."""

    release: Release = Release.R2010
    curves: Curves = Curves.SPLINES
    tolerance: float = 0.01

    def __post_init__(self) -> None:
        if self.release is Release.R12 and self.curves is Curves.SPLINES:
            raise ValueError("DXF R12 has no splines: ask for arcs or lines")
        if not 0.0005 <= self.tolerance <= 1:
            raise ValueError("the tolerance of a DXF file must be from 0.0005 to 1 mm")


PLAIN_R12: Final = DxfOptions(Release.R12, Curves.LINES)
"""For the oldest controllers."""

_PLAIN: Final = DxfOptions()

_INDEX: Final = {Operation.GUIDE: 6, Operation.ENGRAVE: 5, Operation.SCORE: 3, Operation.CUT: 1}
"""Colours by the format's own numbers, for readers that know no others: 1 red, 3 green, 5 blue, 6 magenta."""

_MILLIMETRES: Final = 4
"""The value of ``$INSUNITS`` (Autodesk, "DXF Reference": HEADER section)."""

_R12_IN_FILE: Final = "AC1009"
"""What ``$ACADVER`` says of release 12 (the same reference)."""

_ONE_AT_A_TIME: Final = Lock()


def sheet_dxf(sheet: Sheet, options: DxfOptions = _PLAIN) -> bytes:
    """The sheet as an ASCII DXF file; the same sheet gives the same bytes.

    The origin lies at the bottom left of the sheet and y goes **up**, as the format wants it. Layers are
    named ENGRAVE, SCORE, CUT and GUIDE; entities follow in the order of the contours. One drawing unit
    is one mm, and what a person sets at the machine stands in the custom properties; release 12 can say
    neither in the file.

    Raises:
        ValueError: a coordinate is not finite.
    """
    with _unchanging():
        from ezdxf.filemanagement import new

        document = new(options.release, setup=False, units=_MILLIMETRES)
        _head(document, sheet)
        for operation in DRAW_ORDER:
            _layer(document, operation, sheet)
        space = document.modelspace()
        for contour in sheet_contours(sheet):
            _draw(space, _flipped(contour, sheet.size[1]), options)
        out = StringIO()
        document.write(out)
    return out.getvalue().encode("utf-8" if options.release is Release.R2010 else "ascii")


def sheet_dxf_r12(sheet: Sheet) -> bytes:
    """Like :func:`sheet_dxf`, in release 12 with chords that leave the true curve by at most 0.01 mm."""
    return sheet_dxf(sheet, PLAIN_R12)


@contextmanager
def _unchanging() -> Iterator[None]:
    """No clock and no random identifiers in the file; no word that release 12 has no units."""
    options: Any = import_module("ezdxf").options
    with _ONE_AT_A_TIME:
        before = options.write_fixed_meta_data_for_testing
        options.write_fixed_meta_data_for_testing = True
        logger = getLogger("ezdxf")
        level = logger.level
        logger.setLevel(ERROR)
        try:
            yield
        finally:
            logger.setLevel(level)
            options.write_fixed_meta_data_for_testing = before


def _head(document: Drawing, sheet: Sheet) -> None:
    document.header["$MEASUREMENT"] = 1
    width, height = sheet.size
    document.header["$EXTMIN"], document.header["$EXTMAX"] = (0, 0, 0), (width, height, 0)
    document.header["$LIMMIN"], document.header["$LIMMAX"] = (0, 0), (width, height)
    if sheet.settings and document.dxfversion > _R12_IN_FILE:
        for line in sheet.settings.splitlines():
            document.header.custom_vars.append("Set", line)
    space: Any = document.modelspace()
    space.reset_extents((0, 0, 0), (width, height, 0))
    space.reset_limits((0, 0), (width, height))


def _layer(document: Drawing, operation: Operation, sheet: Sheet) -> None:
    layer = document.layers.add(operation.upper(), color=_INDEX[operation])
    if document.dxfversion > _R12_IN_FILE:
        colour = sheet.colours.get(operation, DEFAULT_COLOURS[operation]).removeprefix("#")
        layer.rgb = (int(colour[:2], 16), int(colour[2:4], 16), int(colour[4:], 16))
        if operation is Operation.GUIDE:
            layer.dxf.plot = 0


def _flipped(contour: Contour, height: float) -> Contour:
    """Between the sheet's y, which goes down from the top, and the file's, which goes up from the bottom."""
    um = np.rint(contour.path.points.imag * UM_PER_MM)
    points = contour.path.points.real + 1j * (np.rint(height * UM_PER_MM) - um) / UM_PER_MM
    return Contour(contour.operation, contour.mark, contour.closed, Path(contour.path.commands, points))


def _draw(space: Any, contour: Contour, options: DxfOptions) -> None:
    curved = bool(np.isin(contour.path.commands, (QUAD, CUBIC)).any())
    if curved and options.curves is Curves.SPLINES:
        _spline(space, contour)
    elif curved and options.curves is Curves.ARCS:
        points, bulges = with_bulges(contour.path, options.tolerance)
        _polyline(space, contour, points, bulges, options.release)
    else:
        points = subdivided(contour.path, options.tolerance).points
        _polyline(space, contour, points, np.zeros(points.size), options.release)


def _polyline(space: Any, contour: Contour, points: Any, bulges: Any, release: Release) -> None:
    """A polyline; points on the spot of the one before, and a closed one's last, are left out."""
    stays = np.append(np.abs(np.diff(points)) > 1e-9, not contour.closed)
    if stays.sum() < 2:
        stays[0] = stays[-1] = True
    rows = [(p.real, p.imag, b) for p, b in zip(points[stays], bulges[stays], strict=True)]
    looks = {"layer": contour.operation.upper()}
    if release is Release.R12:
        space.add_polyline2d(rows, format="xyb", close=contour.closed, dxfattribs=looks)
    else:
        space.add_lwpolyline(rows, format="xyb", close=contour.closed, dxfattribs=looks)


def _spline(space: Any, contour: Contour) -> None:
    """One cubic B-spline that is exactly the contour: each knot thrice, so that each span is one Bézier."""
    control: list[complex] = [complex(contour.path.points[0])]
    at = 1
    for command in contour.path.commands.tolist():
        if command == MOVE:
            continue
        count = {LINE: 1, QUAD: 2, CUBIC: 3}[command]
        span = _raised([control[-1], *contour.path.points[at : at + count].tolist()])
        at += count
        if any(abs(point - control[-1]) > 1e-9 for point in span):
            control += span
    spans = (len(control) - 1) // 3
    knots = [0.0] * 4 + [float(k) for k in range(1, spans) for _ in range(3)] + [float(spans)] * 4
    spline = space.add_spline(degree=3, dxfattribs={"layer": contour.operation.upper()})
    spline.control_points = [(p.real, p.imag, 0.0) for p in control]
    spline.knots = knots
    spline.dxf.flags = 8 | int(contour.closed)


def _raised(points: list[complex]) -> list[complex]:
    """The three control points after the first of a line, quadratic or cubic raised to a cubic."""
    a, z = points[0], points[-1]
    if len(points) == 2:
        return [a + (z - a) / 3, a + (z - a) * 2 / 3, z]
    if len(points) == 3:
        return [a + (points[1] - a) * 2 / 3, z + (points[1] - z) * 2 / 3, z]
    return points[1:]
