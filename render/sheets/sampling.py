"""What the second reader is asked, and whether its answers agree with the first."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from render.sheets import measure
from render.sheets.checks import Finding
from render.sheets.pathpool import read_paths
from render.sheets.reader import SheetFile
from render.sheets.second import Reading

SAMPLE: Final = 3
"""Pieces of a sheet that svgpathtools reads: the first, the middle and the last."""

_MEASURED: Final = 40  # segments that are also measured in a sampled path: measuring one costs 0.3 ms
_POINT_MM: Final = 1e-7
_BOX_MM: Final = 1e-4
_LENGTH: Final = 1e-5  # as a share
_AREA: Final = 1e-6

Item = tuple[str, bool]


def sample_items(file: SheetFile, *, thorough: bool) -> tuple[list[Item], tuple[str, ...]]:
    """The path data that svgpathtools shall read, each with whether to measure it, and the pieces' names.

    A sample is read whole, and of each of its paths the first contour short enough is measured; `thorough`
    reads and measures everything.
    """
    names = list(dict.fromkeys(group.id.rpartition("-")[0] for group in file.groups))
    if not thorough and len(names) > SAMPLE:
        names = [
            names[i] for i in sorted({round(k * (len(names) - 1) / (SAMPLE - 1)) for k in range(SAMPLE)})
        ]
    chosen, items = set(names), []
    for group in file.groups:
        if group.id.rpartition("-")[0] in chosen:
            for data in file.data[group.paths.start : group.paths.stop]:
                items.append((data, thorough))
                if not thorough:
                    items += _short_contour(data)
    return items, tuple(names)


def _short_contour(data: str) -> list[Item]:
    for contour in data.split("M")[1:]:
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
        return
    for (data, measured), reading in zip(items, readings, strict=True):
        if not _agrees(data, measured, reading):
            yield Finding("second", f"svgpathtools reads the path {data[:24]}... differently.")


def _agrees(data: str, measured: bool, reading: Reading) -> bool:
    pool = read_paths([data])
    part = measure.segments(pool)
    used = {1: (0, 3), 2: (0, 1, 3), 3: (0, 1, 2, 3)}
    own = [
        (control[list(used[int(degree)])] / 1000).reshape(-1)
        for degree, control in zip(part.degree, part.control, strict=True)
        if degree > 1 or (control[0] != control[3]).any()
    ]
    other = [np.array(s) for s in reading["segments"] if len(s) > 4 or s[:2] != s[2:]]
    if [len(s) for s in own] != [len(s) for s in other]:
        return False
    if own and np.abs(np.concatenate(own) - np.concatenate(other)).max() > _POINT_MM:
        return False
    if not measured:
        return True
    box = measure.exact_box(pool) / 1000
    size = max(box[2] - box[0], 1e-3) * max(box[3] - box[1], 1e-3)
    length = measure.lengths(part, 1)[0] / 1000
    area = measure.signed_areas(part, 1)[0] / 1e6
    return bool(
        np.abs(box - reading["box"]).max() <= _BOX_MM
        and abs(length - reading["length"]) <= _LENGTH * length + 1e-6
        and (reading["area"] is None or abs(abs(area) - abs(reading["area"])) <= _AREA * size + 1e-6)
    )
