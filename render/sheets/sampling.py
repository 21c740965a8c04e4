"""What the second reader is asked, and whether its answers agree with the first."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from render.sheets import measure
from render.sheets.checks import Finding
from render.sheets.pathpool import read_paths
from render.sheets.reader import SheetFile
from render.sheets.second import Reading

SAMPLE: Final = 3
"""Pieces of a sheet that svgpathtools reads: the first, the middle and the last."""

_MEASURED: Final = 40  # segments that are also measured of a sampled group: one costs 0.3 ms
_POINT_MM: Final = 1e-7
_BOX_MM: Final = 1e-4
_LENGTH: Final = 1e-5  # as a share
_AREA: Final = 1e-6

Item = tuple[str, bool]


def sample_items(file: SheetFile, *, thorough: bool) -> tuple[list[Item], tuple[str, ...]]:
    """The path data that svgpathtools shall read, each with whether to measure it, and the pieces' names.

    A sample is read whole, and of each group the first contour that is short enough is measured; `thorough`
    reads and measures everything.
    """
    names = list(dict.fromkeys(group.id.rpartition("-")[0] for group in file.groups))
    if not thorough and len(names) > SAMPLE:
        names = [
            names[i] for i in sorted({round(k * (len(names) - 1) / (SAMPLE - 1)) for k in range(SAMPLE)})
        ]
    chosen: set[str] = set(names)
    items: list[Item] = []
    for group in file.groups:
        if group.id.rpartition("-")[0] in chosen:
            data = file.data[group.paths.start : group.paths.stop]
            items += [(d, thorough) for d in data]
            if not thorough:
                items += _short_contour(data)
    return items, tuple(names)


def _short_contour(paths: Sequence[str]) -> list[Item]:
    for contour in " ".join(paths).split("M")[1:]:
        if len(re.findall("[LQC]", contour)) <= _MEASURED:
            return [("M" + contour, True)]
    return []


def compared(items: Sequence[Item], readings: Sequence[Reading]) -> Iterator[Finding]:
    """Where svgpathtools and the reader of the verification do not agree.

    Control points within 0.1 nm, boxes within 0.1 µm, lengths within 0.001 % and areas within 0.0001 % (of
    the area of the path's box).
    """
    if len(items) != len(readings):
        yield Finding("second", "svgpathtools did not read every path it was given.")
    elif items:
        pool = read_paths([data for data, _ in items])
        part = measure.segments(pool)
        bounds = np.searchsorted(part.path, np.arange(len(items) + 1))
        lengths = measure.lengths(part, len(items)) / 1000
        areas = measure.signed_areas(part, len(items)) / 1e6
        for at, ((data, measured), reading) in enumerate(zip(items, readings, strict=True)):
            rows = slice(bounds[at], bounds[at + 1])
            same = _same_points(part.degree[rows], part.control[rows] / 1000, reading)
            if same and measured:
                box = measure.exact_box(pool.part(at, at + 1)) / 1000
                same = _same_measures(box, lengths[at], areas[at], reading)
            if not same:
                yield Finding("second", f"svgpathtools reads the path {data[:24]}... differently.")


def _same_points(degree: NDArray[np.int64], control: NDArray[np.float64], reading: Reading) -> bool:
    """Whether both read the same segments; lines of no length, which close a contour, do not count."""
    uses = {1: [0, 3], 2: [0, 1, 3], 3: [0, 1, 2, 3]}
    draws = (degree > 1) | (control[:, 0] != control[:, 3]).any(axis=1)
    own = [c[uses[d]].reshape(-1) for d, c in zip(degree[draws].tolist(), control[draws], strict=True)]
    other = [s for s in reading["segments"] if len(s) > 4 or s[:2] != s[2:]]
    if [len(s) for s in own] != [len(s) for s in other]:
        return False
    return not own or bool(np.abs(np.concatenate(own) - np.concatenate(other)).max() <= _POINT_MM)


def _same_measures(box: NDArray[np.float64], length: float, area: float, reading: Reading) -> bool:
    size = (box[2] - box[0]) * (box[3] - box[1])
    other = reading["area"]
    return bool(
        np.abs(box - reading["box"]).max() <= _BOX_MM
        and abs(length - reading["length"]) <= _LENGTH * length + _POINT_MM
        and (other is None or abs(area - other) <= _AREA * size + _POINT_MM)
    )
