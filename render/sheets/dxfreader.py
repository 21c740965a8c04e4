"""A DXF sheet, read back: its release, unit and contours, and nothing it may not hold.

Reads the pairs of group code and value that the format consists of (Autodesk, "DXF Reference"), of entities
only polylines and splines.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.sheets.alike import Traced
from render.sheets.pathpool import UnreadableError

Floats = NDArray[np.float64]
Pair = tuple[int, str]

_CHORD_MM: Final = 0.001
_TOLERABLE: Final = frozenset(("LWPOLYLINE", "POLYLINE", "VERTEX", "SEQEND", "SPLINE"))


@dataclass(frozen=True, slots=True)
class DxfFile:
    """What a file says: ``$ACADVER``, ``$INSUNITS`` (None if it says nothing), its layers and contours.

    Attributes:
        settings: its custom properties, a line each.
    """

    release: str
    units: int | None
    layers: tuple[str, ...]
    contours: tuple[Traced, ...]
    settings: str = ""


def read_dxf(data: bytes, height: float) -> DxfFile:
    """Read a file; its y goes up from the bottom of a sheet of that height in mm, the contours' y down.

    Raises:
        UnreadableError: it is not DXF, or holds an entity that a sheet may not hold.
    """
    pairs = list(_pairs(data))
    sections = dict(_sections(pairs))
    header = _header(sections.get("HEADER", []))
    layers = tuple(
        _text(record, 2) for record in _records(sections.get("TABLES", [])) if record[0] == (0, "LAYER")
    )
    contours = tuple(
        Traced(trace.operation, trace.closed, np.stack((trace.points[:, 0], height - trace.points[:, 1]), 1))
        for trace in _contours(list(_records(sections.get("ENTITIES", []))))
    )
    units = header.get("$INSUNITS")
    said = "\n".join(_properties(sections.get("HEADER", [])))
    return DxfFile(header.get("$ACADVER", ""), None if units is None else int(units), layers, contours, said)


def _pairs(data: bytes) -> Iterator[Pair]:
    lines = data.decode("utf-8", "strict").replace("\r\n", "\n").split("\n")
    if lines and not lines[-1]:
        lines.pop()
    if len(lines) % 2 or lines[-2:] != ["  0", "EOF"]:
        raise UnreadableError("the file is cut off, or is not DXF")
    for code, value in zip(lines[::2], lines[1::2], strict=True):
        try:
            yield int(code), value.strip()
        except ValueError as error:
            raise UnreadableError(f"{code!r} is not a group code") from error


def _sections(pairs: list[Pair]) -> Iterator[tuple[str, list[Pair]]]:
    start = 0
    for n, pair in enumerate(pairs):
        if pair == (0, "SECTION"):
            start = n
        elif pair == (0, "ENDSEC"):
            yield pairs[start + 1][1], pairs[start + 2 : n]


def _header(pairs: list[Pair]) -> Mapping[str, str]:
    names = [n for n, (code, _) in enumerate(pairs) if code == 9]
    return {pairs[n][1]: pairs[n + 1][1] for n in names}


def _properties(pairs: list[Pair]) -> list[str]:
    """The values of the custom properties, in order."""
    return [pairs[n + 1][1] for n, pair in enumerate(pairs) if pair == (9, "$CUSTOMPROPERTY")]


def _records(pairs: list[Pair]) -> Iterator[list[Pair]]:
    begins = [n for n, (code, _) in enumerate(pairs) if code == 0]
    for begin, end in zip(begins, [*begins[1:], len(pairs)], strict=True):
        yield pairs[begin:end]


def _text(record: list[Pair], code: int, otherwise: str | None = None) -> str:
    for key, value in record:
        if key == code:
            return value
    if otherwise is None:
        raise UnreadableError(f"a {record[0][1]} lacks its group {code}")
    return otherwise


def _all(record: list[Pair], code: int) -> Floats:
    return np.array([float(value) for key, value in record if key == code])


def _contours(records: list[list[Pair]]) -> Iterator[Traced]:
    at = 0
    while at < len(records):
        record = records[at]
        kind = record[0][1]
        if kind not in _TOLERABLE:
            raise UnreadableError(f"it holds a {kind}, which a sheet may not hold")
        operation = _text(record, 8).lower()
        closed = bool(int(_text(record, 70, "0")) & 1)
        if kind == "LWPOLYLINE":
            yield Traced(operation, closed, _with_arcs(*_light(record), closed))
        elif kind == "SPLINE":
            yield Traced(operation, closed, _spline(record))
        elif kind == "POLYLINE":
            end = next(n for n in range(at, len(records)) if records[n][0][1] == "SEQEND")
            corners = records[at + 1 : end]
            xy = np.array([[float(_text(v, 10)), float(_text(v, 20))] for v in corners])
            bulges = np.array([float(_text(v, 42, "0")) for v in corners])
            yield Traced(operation, closed, _with_arcs(xy, bulges, closed))
            at = end
        else:
            raise UnreadableError(f"a {kind} stands by itself")
        at += 1


def _light(record: list[Pair]) -> tuple[Floats, Floats]:
    xy = np.stack((_all(record, 10), _all(record, 20)), axis=1)
    bulges = np.zeros(len(xy))
    corner = -1
    for code, value in record:
        if code == 10:
            corner += 1
        elif code == 42:
            bulges[corner] = float(value)
    return xy, bulges


def _with_arcs(xy: Floats, bulges: Floats, closed: bool) -> Floats:
    """Corners with their arcs drawn out."""
    if not bulges.any():
        return xy
    rows: list[Floats] = []
    count = len(xy)
    for n in range(count):
        rows.append(xy[n : n + 1])
        if bulges[n] and (closed or n + 1 < count):
            rows.append(_arc(xy[n], xy[(n + 1) % count], float(bulges[n])))
    return np.concatenate(rows)


def _arc(start: Floats, end: Floats, bulge: float) -> Floats:
    """Points between the ends of an arc whose angle is 4 atan(bulge), counter-clockwise where positive."""
    angle = 4 * math.atan(bulge)
    chord = end - start
    length = float(np.hypot(*chord))
    if length == 0:
        return np.empty((0, 2))
    radius = length / (2 * abs(math.sin(angle / 2)))
    left = np.array([-chord[1], chord[0]]) / length
    centre = (start + end) / 2 + left * (length / 2) / math.tan(angle / 2)
    steps = max(2, math.ceil(abs(angle) / (2 * math.acos(max(0.0, 1 - _CHORD_MM / radius)) + 1e-9)))
    first = math.atan2(*(start - centre)[::-1])
    turns = first + angle * np.arange(1, steps) / steps
    return np.asarray(centre + radius * np.stack((np.cos(turns), np.sin(turns)), axis=1))


def _spline(record: list[Pair]) -> Floats:
    """Points along a B-spline without weights, by de Boor's algorithm (C. de Boor, 1972)."""
    degree = int(_text(record, 71))
    knots = _all(record, 40)
    control = np.stack((_all(record, 10), _all(record, 20)), axis=1)
    if len(knots) != len(control) + degree + 1 or (np.diff(knots) < 0).any() or _all(record, 41).size:
        raise UnreadableError("the knots of a spline do not match its points, or it has weights")
    spans = np.flatnonzero(np.diff(knots[degree : len(control) + 1]) > 0) + degree
    legs = control[spans[:, None] + np.arange(-degree, 1)]
    bend = np.abs(np.diff(legs, 2, axis=1)).max(initial=0.0)
    count = math.ceil(math.sqrt(degree * (degree - 1) * bend / (5.6 * _CHORD_MM))) + 1
    share = np.arange(count) / count
    u = (knots[spans, None] + share * (knots[spans + 1] - knots[spans])[:, None]).ravel()
    return np.concatenate((_de_boor(u, np.repeat(spans, count), degree, knots, control), control[-1:]))


def _de_boor(u: Floats, span: NDArray[np.int64], degree: int, knots: Floats, control: Floats) -> Floats:
    d = [control[span - degree + j] for j in range(degree + 1)]
    for r in range(1, degree + 1):
        for j in range(degree, r - 1, -1):
            low, high = knots[span - degree + j], knots[span + 1 + j - r]
            alpha = ((u - low) / (high - low))[:, None]
            d[j] = (1 - alpha) * d[j - 1] + alpha * d[j]
    return d[degree]
