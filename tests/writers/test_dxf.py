"""Sheets as DXF: read by ezdxf, and traced against the sheet's own curves by a reader made for this test."""

from __future__ import annotations

import io
import math

import ezdxf
import numpy as np
import pytest

from render.geometry import CLOSE, CUBIC, LINE, MOVE, QUAD, Path
from render.geometry.shapes import circle
from render.model import Artwork, Mark, Operation, Placement, Sheet
from render.writers.arcs import with_bulges
from render.writers.dxf import PLAIN_R12, Curves, DxfOptions, Release, sheet_dxf

EVERY = (
    DxfOptions(),
    DxfOptions(curves=Curves.ARCS),
    DxfOptions(curves=Curves.LINES),
    DxfOptions(Release.R12, Curves.ARCS),
    PLAIN_R12,
)


def opened(data: bytes) -> ezdxf.document.Drawing:
    return ezdxf.read(io.StringIO(data.decode()))


@pytest.mark.parametrize("options", EVERY)
def test_audit_units_layers_and_entities(two_cards: Sheet, options: DxfOptions) -> None:
    """ezdxf's own audit finds nothing; entities are only what every reader takes, on the right layers."""
    document = opened(sheet_dxf(two_cards, options))
    assert not document.audit().errors
    assert not document.audit().fixes
    assert document.dxfversion == ("AC1009" if options.release is Release.R12 else "AC1024")
    if options.release is Release.R2010:
        assert document.header["$INSUNITS"] == 4  # mm: Autodesk, "DXF Reference"
    names = [e.dxf.layer for e in document.modelspace()]
    assert names == ["GUIDE"] * 2 + ["ENGRAVE"] * 6 + ["SCORE"] * 2 + ["CUT"] * 4
    splines = options.curves is Curves.SPLINES
    wanted = (
        {"POLYLINE"}
        if options.release is Release.R12
        else {"LWPOLYLINE"} | ({"SPLINE"} if splines else set())
    )
    assert {e.dxftype() for e in document.modelspace()} == wanted
    assert not [b for b in document.blocks if not b.is_any_layout]


@pytest.mark.parametrize("options", EVERY)
def test_same_bytes_again(two_cards: Sheet, options: DxfOptions) -> None:
    assert sheet_dxf(two_cards, options) == sheet_dxf(two_cards, options)


def test_y_goes_up_from_the_bottom(two_cards: Sheet) -> None:
    (line, *_) = opened(sheet_dxf(two_cards)).modelspace().query('*[layer=="SCORE"]')
    assert [tuple(p) for p in line.get_points("xy")] == [(13.0, 43.0), (37.0, 43.0)]


def _one(path: Path) -> Sheet:
    return Sheet(
        1, "One", (100, 100), 1, (Placement(Artwork("p2", "", (Mark(Operation.CUT, path),)), 1, 0, 0),)
    )


def test_circle_as_arcs_is_round_and_closed() -> None:
    """Radius and area of a circle (π r²) by ezdxf's own arithmetic of bulges."""
    from ezdxf.math import bulge_radius

    data = sheet_dxf(_one(circle(50 + 50j, 20)), DxfOptions(Release.R12, Curves.ARCS, 0.001))
    (entity,) = opened(data).modelspace()
    points = [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in entity.vertices]
    assert entity.is_closed
    for (x0, y0, bulge), (x1, y1, _) in zip(points, points[1:] + points[:1], strict=True):
        assert bulge_radius((x0, y0), (x1, y1), bulge) == pytest.approx(20, abs=0.01)
    turned = sum(4 * math.atan(b) for _, _, b in points)
    assert abs(turned) == pytest.approx(2 * math.pi, abs=1e-3)


def test_splines_are_the_curves_exactly() -> None:
    """ezdxf's B-spline evaluator against de Casteljau's construction, at twenty places of each curve."""
    path = Path.of(
        [MOVE, LINE, QUAD, CUBIC], [10 + 10j, 20 + 10j, 40 + 10j, 40 + 30j, 40 + 60j, 5 + 60j, 8 + 20j]
    )
    (entity,) = opened(sheet_dxf(_one(path))).modelspace()
    tool = entity.construction_tool()
    for span, control in enumerate(([0, 1], [1, 2, 3], [3, 4, 5, 6])):
        for t in np.linspace(0, 1, 20):
            row = path.points[control]
            while len(row) > 1:
                row = row[:-1] * (1 - t) + row[1:] * t
            x, y, _ = tool.point(span + t)
            assert abs(complex(x, 100 - y) - row[0]) < 2e-6


@pytest.mark.parametrize("tolerance", [0.1, 0.01, 0.001])
def test_arcs_keep_their_tolerance(tolerance: float) -> None:
    """Each arc's own points, by elementary trigonometry, lie near the curve; few arcs suffice."""
    path = Path.of([MOVE, CUBIC], [0j, 30 + 0j, 5 + 40j, 45 + 25j])
    points, bulges = with_bulges(path, tolerance)
    t = np.linspace(0, 1, 20001)
    p = path.points
    curve = p[0] * (1 - t) ** 3 + 3 * p[1] * t * (1 - t) ** 2 + 3 * p[2] * t**2 * (1 - t) + p[3] * t**3
    for a, b, bulge in zip(points[:-1], points[1:], bulges[:-1], strict=True):
        half = 2 * math.atan(bulge)
        radius = abs(b - a) / (2 * math.sin(half)) if half else math.inf
        for share in (0.25, 0.5, 0.75):
            if math.isinf(radius):
                on = a + (b - a) * share
            else:
                centre = a + (b - a) / abs(b - a) * 1j * radius * np.exp(-1j * half)
                on = centre + (a - centre) * np.exp(2j * half * share)
            assert np.abs(curve - on).min() < tolerance + 0.002
    assert len(points) < 4 + 8 / tolerance**0.4


def test_options_are_checked() -> None:
    with pytest.raises(ValueError, match="no splines"):
        DxfOptions(Release.R12, Curves.SPLINES)
    with pytest.raises(ValueError, match="tolerance"):
        DxfOptions(tolerance=5)


def test_contours_of_a_single_point_are_left_out() -> None:
    path = Path.joined(
        (Path.of([MOVE], [3 + 3j]), Path.of([MOVE, LINE, LINE, CLOSE], [1 + 1j, 9 + 1j, 9 + 9j]))
    )
    assert len(opened(sheet_dxf(_one(path))).modelspace()) == 1
