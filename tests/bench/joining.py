"""Names a second joined into one piece, and whether each is one piece as narrow as asked, face by face.

Run it by hand, alone on the machine::

    python tests/bench/joining.py [--names 200] [--neck 1.5] [--cpu] [--workers 2] [FONT ...]

Each name is set as large as a box of 160 × 45 mm allows, its letters brought together, its thin strokes made
stouter by up to 0.6 mm to each side, and joined with necks of 1.5 mm, as a cake topper of plywood is. Time
runs from the outlines of the lettering to the path that is cut; "again" with all letters made stouter before.
Afterwards each path is asked again, from its own curves: is it one valid polygon, and does a disc of 0.95 of
the neck's width pass between all places that are stouter than it (by shapely), and is it one piece for
Clipper too (by pyclipper's own offset)?
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from time import perf_counter, process_time

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parent)]

import numpy as np  # noqa: E402
import pyclipper  # noqa: E402
import shapely  # noqa: E402
from invented import invented  # noqa: E402

from render.design import Drawing  # noqa: E402
from render.fitting.joining import Joined  # noqa: E402
from render.fitting.necks import cores  # noqa: E402
from render.fitting.solids import parts_of, region_of_path  # noqa: E402
from render.geometry.shapes import rectangle  # noqa: E402
from render.lettering import Letterer, Shelf  # noqa: E402
from render.model import CutRule, FitRule, Fitted, LetterRequest, Operation, SetLine, Setting, Side  # noqa: E402
from render.pipeline.holding import joined_lettering  # noqa: E402
from render.pipeline.holdworkers import hold_all  # noqa: E402
from render.pipeline.workshop import Workshop  # noqa: E402
from render.resources import folder  # noqa: E402

now = process_time if "--cpu" in sys.argv else perf_counter
SCRIPTS = ("pacifico", "lobster", "dancing-script", "great-vibes")
UPRIGHTS = ("montserrat", "roboto-slab")
WIDTH, HEIGHT = 160.0, 45.0
GIVEN = [
    *("Zoë", "Jürgen", "Éloïse", "Åsa", "Søren", "Íris", "Niño", "Łucja", "Çiğdem", "Đorđe", "Šárka"),
    *("Ümit", "Ødegård", "Jill", "Fjóla", "Œdipe", "Ilija", "Ján"),
]
FAMILY = [
    *("Müller", "Ångström", "Nuñez", "Kováč", "Şahin", "O’Neil", "Þórsson", "Björk", "Fiji-Lill", "Ćosić"),
    *("Brâncuși", "Jäger", "Ő.", "Äijälä", "Gîțu"),
]


def names(count: int) -> list[str]:
    """Half of them invented syllables, half names full of dots and accents."""
    hard = [f"{given} {family}" for family in FAMILY for given in GIVEN]
    step = max(1, len(hard) // (count // 2))
    return [*hard[::step][: count // 2], *invented(count - count // 2)]


def fitted(letterer: Letterer, text: str, font: str, neck: float) -> Fitted | None:
    line = letterer.line(text, Setting(font))
    if line.missing or line.ink is None:
        return None
    size = min(WIDTH / line.ink.width, HEIGHT / line.ink.height)
    rule = CutRule(Side.SOLID, neck=neck, closer=0.1, thicken=0.6)
    box = rectangle(0, 0, WIDTH, HEIGHT)
    request = LetterRequest("p", "name", text, Setting(font), Operation.CUT, FitRule(), box, cut=rule)
    return Fitted(request, (SetLine(line, size, complex(-line.ink.x0 * size, -line.ink.y0 * size)),))


def clipper_pieces(path, width: float) -> int:
    """Outer contours that are left when Clipper takes half of `width` off all round."""
    region = region_of_path(path)
    offset = pyclipper.PyclipperOffset(2.0, 0.25 * 1000 * 0.01)
    for part in parts_of(region):
        for ring in (part.exterior, *part.interiors):
            corners = np.rint(shapely.get_coordinates(ring)[:-1] * 1000).astype(int).tolist()
            offset.AddPath(corners, pyclipper.JT_ROUND, pyclipper.ET_CLOSEDPOLYGON)
    left = offset.Execute(-width / 2 * 1000)
    return sum(pyclipper.Orientation(c) and abs(pyclipper.Area(c)) > 3e4 * width * width for c in left)


def one_piece(joined: Joined, neck: float) -> tuple[bool, bool]:
    """By shapely, and by Clipper."""
    region = region_of_path(joined.path)
    stout = [place for place in cores(region, 0.95 * neck) if place.area > 0.03 * neck * neck]
    good = region.geom_type == "Polygon" and region.is_valid and len(stout) == 1
    return good, clipper_pieces(joined.path, 0.95 * neck) == 1


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--names", type=int, default=200)
    parser.add_argument("--neck", type=float, default=1.5)
    parser.add_argument("--cpu", action="store_true")
    parser.add_argument("--workers", type=int, default=0, help="time so many processes as well")
    parser.add_argument("--list", action="store_true", help="name those that failed")
    parser.add_argument("fonts", nargs="*", default=[*SCRIPTS, *UPRIGHTS])
    options = parser.parse_args()
    letterer = Letterer(Shelf([folder("fonts_open")]))
    workshop = Workshop.open()
    job = workshop.job("cake-topper")
    gap = job.material.smallest_gap
    print("face             names one piece Clipper a second  again    ms slowest  ties longest")
    for font in options.fonts:
        some = [f for f in (fitted(letterer, n, font, options.neck) for n in names(options.names)) if f]
        paths = [letterer.outlines([f.lines])[0] for f in some]
        joined_lettering(some[0], paths[0], options.neck, gap, letterer)
        times, results = [], []
        for each, path in zip(some, paths, strict=True):
            begin = now()
            results.append(joined_lettering(each, path, options.neck, gap, letterer))
            times.append(now() - begin)
        begin = now()
        for each, path in zip(some, paths, strict=True):
            joined_lettering(each, path, options.neck, gap, letterer)
        again = len(some) / (now() - begin)
        checks = [one_piece(r, options.neck) for r in results]
        good = sum(a and not r.faults for (a, _), r in zip(checks, results, strict=True))
        clipper = sum(b for _, b in checks)
        ties = np.mean([len(r.ties) for r in results])
        longest = max((shown for r in results for _, shown in r.ties), default=0)
        print(
            f"{font:16} {len(some):5} {good:9} {clipper:7} {len(times) / sum(times):8.1f} {again:6.1f}"
            f" {1e3 * sum(times) / len(times):5.0f} {1e3 * max(times):7.0f} {ties:5.1f} {longest:7.1f}"
        )
        if options.workers:
            begin = perf_counter()
            todo = [
                ("p", Drawing((), (f.request,)), [(f, path)]) for f, path in zip(some, paths, strict=True)
            ]
            held = list(hold_all(todo, job, letterer, workshop, options.workers))
            rate = len(held) / (perf_counter() - begin)
            same = [h.marks[0].path for h in held] == [r.path for r in results]
            verdict = "the same" if same else "DIFFERENT"
            said = f"by {options.workers} processes, start included: {rate:.1f} a second, {verdict} paths"
            print(" " * 16, said)
        if options.list:
            for each, r, (a, b) in zip(some, results, checks, strict=True):
                if r.faults or not a or not b:
                    print("   ", each.request.text, a, b, *(f"{f.why} at {f.at:.1f}" for f in r.faults))


if __name__ == "__main__":
    main()
