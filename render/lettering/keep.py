"""What was learned of a font's outlines, kept in a file: the next run need not unite the same pairs again.

The file belongs to one font file (its SHA-256 is in the font's key) and to the versions of the engines; what
does not match is left alone and overwritten. Every part of it carries a checksum (ZIP's CRC-32). A file that
cannot be read or written costs time, nothing else.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
import zipfile
from itertools import accumulate
from pathlib import Path
from typing import Any, Final

import numpy as np

from render.lettering.meeting import Jump, Meeting
from render.lettering.pool import Glyph, Pool
from render.lettering.stitch import Incident, Pair, Stitcher
from render.lettering.union import Way

FORMAT: Final = 1
"""Raised whenever outlines, or what is kept of them, change."""

_WAYS: Final = tuple(Way)
_NOTHING: Final = -1


def file_of(folder: Path, font_key: str) -> Path:
    """Where in a folder a font's outlines are kept."""
    return folder / f"{hashlib.sha256(font_key.encode()).hexdigest()[:32]}.npz"


def save(stitcher: Stitcher, file: Path) -> bool:
    """Write what a stitcher knows, by rename; whether that worked."""
    arrays = {"stamp": _stamp()} | _pool(stitcher) | _glyphs(stitcher) | _meetings(stitcher)
    name = None
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=file.parent, suffix=".part")
        with os.fdopen(handle, "wb") as stream:
            np.savez(stream, **arrays)
        Path(name).replace(file)
    except OSError:
        if name is not None:
            Path(name).unlink(missing_ok=True)
        return False
    return True


def load(stitcher: Stitcher, file: Path) -> bool:
    """Give a new stitcher what is kept; whether there was anything of use."""
    try:
        with file.open("rb") as stream, np.load(stream, allow_pickle=False) as found:
            kept = {name: found[name] for name in found.files}
        if not np.array_equal(kept["stamp"], _stamp()):
            return False
        pool = Pool()
        pool.add(kept["codes"], kept["points"])
        glyphs = _glyphs_back(kept, pool)
        meetings = _meetings_back(kept)
        composites = [(a, b, dx, dy) for a, b, dx, dy in kept["composites"].tolist()]
        incidents = _incidents_back(kept)
    except (OSError, ValueError, KeyError, IndexError, EOFError, zipfile.BadZipFile):
        return False
    stitcher.restore(pool, glyphs, meetings, composites, incidents)
    return True


def _stamp() -> Any:
    """What the kept outlines depend on besides the font."""
    import pathops
    import uharfbuzz as hb

    text = f"{FORMAT}; Skia path operations {pathops.__version__}; HarfBuzz {hb.version_string()}"
    return np.frombuffer(text.encode(), np.uint8)


def _pool(stitcher: Stitcher) -> dict[str, Any]:
    return {"codes": stitcher.pool.codes, "points": stitcher.pool.points}


def _glyphs(stitcher: Stitcher) -> dict[str, Any]:
    glyphs = stitcher.glyphs
    rings = [ring for glyph in glyphs.values() for ring in glyph.rings]
    incidents = stitcher.incidents
    return {
        "gids": np.array(list(glyphs), np.int64),
        "ring_counts": np.array([len(glyph.rings) for glyph in glyphs.values()], np.int64),
        "ring_starts": np.array([ring.begins[0] for ring in rings], np.int64),
        "ring_sizes": np.array([ring.segments for ring in rings], np.int64),
        "composites": np.array(list(stitcher.composites), np.int64).reshape(-1, 4),
        "incident_counts": np.array([len(incident.gids) for incident in incidents], np.int64),
        "incident_ways": np.array([_WAYS.index(incident.way) for incident in incidents], np.int64),
        "incident_gids": np.array([gid for i in incidents for gid in i.gids], np.int64),
        "incident_places": np.array([at for i in incidents for at in i.places], np.complex128),
    }


def _glyphs_back(kept: dict[str, Any], pool: Pool) -> dict[int, Glyph]:
    places = list(zip(kept["ring_starts"].tolist(), kept["ring_sizes"].tolist(), strict=True))
    glyphs = {}
    for gid, part in zip(kept["gids"].tolist(), _slices(kept["ring_counts"]), strict=True):
        glyphs[gid] = Glyph.at(places[part], pool)
    return glyphs


def _incidents_back(kept: dict[str, Any]) -> list[Incident]:
    gids, places = kept["incident_gids"].tolist(), kept["incident_places"].tolist()
    return [
        Incident(tuple(gids[part]), tuple(places[part]), _WAYS[way])
        for part, way in zip(_slices(kept["incident_counts"]), kept["incident_ways"].tolist(), strict=True)
    ]


def _meetings(stitcher: Stitcher) -> dict[str, Any]:
    every = stitcher.meetings
    real = [meeting for meeting in every.values() if meeting is not None]
    width = max([bits.bit_length() for meeting in real for bits in meeting.touched], default=0) // 8 + 1
    touched = b"".join([bits.to_bytes(width, "little") for meeting in real for bits in meeting.touched])
    ways = [_NOTHING if meeting is None else _WAYS.index(meeting.way) for meeting in every.values()]
    return {
        "keys": np.array(list(every), np.int64).reshape(-1, 4),
        "ways": np.array(ways, np.int64),
        "touched": np.frombuffer(touched, np.uint8).reshape(-1, 2 * width),
        "jump_counts": np.array([len(meeting.jumps) for meeting in real], np.int64),
        "jumps": np.array([jump for m in real for jump in m.jumps], np.int64).reshape(-1, len(Jump._fields)),
        "island_counts": np.array([len(meeting.islands) for meeting in real], np.int64),
        "islands": np.array([island for m in real for island in m.islands], np.int64),
    }


def _meetings_back(kept: dict[str, Any]) -> dict[Pair, Meeting | None]:
    jumps = [Jump(*row) for row in kept["jumps"].tolist()]
    islands = kept["islands"].tolist()
    width = kept["touched"].shape[1] // 2
    parts = zip(_slices(kept["jump_counts"]), _slices(kept["island_counts"]), kept["touched"], strict=True)
    meetings: dict[Pair, Meeting | None] = {}
    for (a, b, dx, dy), way in zip(kept["keys"].tolist(), kept["ways"].tolist(), strict=True):
        meeting = None
        if way != _NOTHING:
            jump_part, island_part, row = next(parts)
            touched = row.tobytes()
            both = (int.from_bytes(touched[:width], "little"), int.from_bytes(touched[width:], "little"))
            meeting = Meeting(both, tuple(jumps[jump_part]), tuple(islands[island_part]), _WAYS[way])
        meetings[a, b, dx, dy] = meeting
    return meetings


def _slices(counts: Any) -> list[slice]:
    """Where the parts of those lengths lie, one after another."""
    ends = list(accumulate(counts.tolist()))
    return [slice(begin, end) for begin, end in zip([0, *ends], ends, strict=False)]
