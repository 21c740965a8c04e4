"""Names a second from text to written SVG, stage by stage, against the plain way and against Typst.

Run it by hand, alone on the machine::

    python tests/bench/road.py [--names 10000] [--font great-vibes] [--plain 300]

Each name is shaped, its outlines united, fitted into a box of 80 × 15 mm, and written as one path, 24 names
at a time. *Cold* starts with nothing known but the open font; *warm* knows glyphs and pairs from the first
run, but no word; *kept* is a new start with what an earlier run left in the cache folder. *Plain* is what one
would write first: glyphs through a pen, one union a name, numbers by f-strings. Typst shapes and fits the
same names into the same boxes in a fresh process (it would remember the document in this one); it does not
unite and writes glyphs by reference. Medians of several runs; the noise of the machine cancels best in the
ratios, which come from one run. With ``--cpu`` the time of the processor is counted instead of the
clock's, for a machine that has other work.
"""

from __future__ import annotations

import argparse
import json
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from time import perf_counter, process_time

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parent)]

from invented import invented  # noqa: E402

from render.geometry.pathformat import path_data  # noqa: E402
from render.lettering import Letterer, Shelf  # noqa: E402
from render.lettering.assemble import Assembler  # noqa: E402
from render.model import Line, SetLine, Setting  # noqa: E402
from render.resources import folder  # noqa: E402
from render.units import to_um  # noqa: E402

now = process_time if "--cpu" in sys.argv else perf_counter
WIDTH, HEIGHT, BATCH = 80.0, 15.0, 24
STAGES = ("open", "shape", "fit", "outline", "union", "assemble", "serialise", "write")


class Clock:
    """Seconds by stage."""

    def __init__(self) -> None:
        self.spent = dict.fromkeys(STAGES, 0.0)

    @contextmanager
    def __call__(self, stage: str) -> Iterator[None]:
        begin = now()
        yield
        self.spent[stage] += now() - begin

    def wrap(self, stage: str, function: Callable, inside: str = "") -> Callable:
        """The function, its time counted for a stage and taken off the stage it is called in."""

        def timed(*args, **kwargs):
            begin = now()
            try:
                return function(*args, **kwargs)
            finally:
                spent = now() - begin
                self.spent[stage] += spent
                if inside:
                    self.spent[inside] -= spent

        return timed


def fitted(line: Line, row: int) -> SetLine:
    """The line as large as its box allows, its ink centred in it."""
    ink = line.ink
    size = min(WIDTH / ink.width, HEIGHT / ink.height)
    x, y = WIDTH / 2, (row + 0.5) * HEIGHT
    centre = ink.centre
    return SetLine(line, size, complex(x - size * centre.x, y - size * centre.y))


def ours(letterer: Letterer, names: list[str], font: str, file, clock: Clock) -> None:
    """The whole road."""
    setting = Setting(font)
    for begin in range(0, len(names), BATCH):
        batch = names[begin : begin + BATCH]
        with clock("shape"):
            lines = [letterer.line(name, setting) for name in batch]
        with clock("fit"):
            placed = [[fitted(line, row % 20)] for row, line in enumerate(lines)]
        with clock("assemble"):
            paths = letterer.outlines(placed)
        with clock("serialise"):
            data = path_data([(path.commands, to_um(path.points)) for path in paths])
        with clock("write"):
            file.write("".join([f'<path id="n{begin + k}" d="{d}"/>\n' for k, d in enumerate(data)]))


def run_ours(names: list[str], font: str, runs: int, out: Path) -> dict[str, dict[str, float]]:
    """Cold and warm figures: seconds a run by stage, medians."""
    import render.lettering.stitch as stitch

    shelf = Shelf([folder("fonts_open")])
    results: dict[str, list[dict[str, float]]] = {"cold": [], "warm": [], "kept": []}
    union, reader, walk = stitch.meet, stitch.unite, stitch.Stitcher.walk
    for _ in range(runs):
        for state in results:
            clock = Clock()
            if state != "warm":
                letterer = Letterer(shelf)
                letterer._assembler = Assembler(cache=out)
                with clock("open"):
                    letterer.line("x", Setting(font))
            # Glyphs are united when first measured, pairs and words when first drawn.
            stitch.meet = clock.wrap("union", union, "outline")
            stitch.unite = clock.wrap("union", reader, "shape")
            stitch.Stitcher.walk = clock.wrap("outline", walk, "assemble")
            letterer._set.cache_clear()
            for stitcher in letterer._assembler._stitchers.values():
                stitcher._walks.clear()
            with (out / f"{state}.svg").open("w", encoding="utf-8") as file:
                ours(letterer, names, font, file, clock)
            results[state].append(clock.spent | {"whole": sum(clock.spent.values())})
            if state == "warm":
                letterer._assembler.keep()
        for file in out.glob("*.npz"):
            file.unlink()
        stitch.meet, stitch.unite, stitch.Stitcher.walk = union, reader, walk
    return {
        state: {stage: statistics.median(run[stage] for run in found) for stage in found[0]}
        for state, found in results.items()
    }


def run_plain(names: list[str], font: str, out: Path) -> float:
    """Seconds of the plain way."""
    import pathops
    import uharfbuzz as hb
    from fontTools.pens.transformPen import TransformPen
    from fontTools.ttLib import TTFont

    file = Shelf([folder("fonts_open")]).find(font).path
    shaper = hb.Font(hb.Face(file.read_bytes()))
    ttfont = TTFont(file)
    glyphs, order = ttfont.getGlyphSet(), ttfont.getGlyphOrder()
    begin = now()
    with (out / "plain.svg").open("w", encoding="utf-8") as svg:
        for row, name in enumerate(names):
            buffer = hb.Buffer()
            buffer.add_str(name)
            buffer.guess_segment_properties()
            hb.shape(shaper, buffer)
            path, x = pathops.Path(), 0
            for info, position in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
                at = (1, 0, 0, 1, x + position.x_offset, position.y_offset)
                glyphs[order[info.codepoint]].draw(TransformPen(path.getPen(glyphSet=glyphs), at))
                x += position.x_advance
            path.simplify(fix_winding=True)
            x0, y0, x1, y1 = path.bounds
            scale = min(WIDTH / (x1 - x0), HEIGHT / (y1 - y0))
            dx, dy = WIDTH / 2 - scale * (x0 + x1) / 2, HEIGHT * (row % 20 + 0.5) + scale * (y0 + y1) / 2
            parts = []
            for verb, points in path:
                parts.append("MLQ?C?Z"[min(int(verb), 5) + (int(verb) == 5)])
                parts.append(" ".join(f"{scale * px + dx:.3f} {dy - scale * py:.3f}" for px, py in points))
            svg.write(f'<path id="n{row}" d="{"".join(parts)}"/>\n')
    return now() - begin


TYPST = """
#set page(width: 80mm, height: {height}mm, margin: 0mm)
#set text(font: "{family}", size: 10pt, top-edge: "bounds", bottom-edge: "bounds")
#let fitted(name) = box(width: 80mm, height: 15mm, align(center + horizon, context {{
  let size = measure(name)
  let factor = calc.min(80mm / size.width, 15mm / size.height) * 100%
  scale(x: factor, y: factor, reflow: true, name)
}}))
#for name in json("names.json") {{ fitted(name) }}
"""


def run_typst(names: list[str], font: str, out: Path) -> float:
    """Seconds that Typst takes in a fresh process, start-up of Python and imports not counted."""
    found = Shelf([folder("fonts_open")]).find(font)
    (out / "names.json").write_text(json.dumps(names), encoding="utf-8")
    source = TYPST.format(family=found.family, height=15 * 20)
    (out / "names.typ").write_text(source, encoding="utf-8")
    code = (
        f"import sys, time, typst; now = time.{now.__name__}; begin = now(); "
        "pages = typst.compile(sys.argv[1], format='svg', font_paths=[sys.argv[2]]); "
        "pages = pages if isinstance(pages, list) else [pages]; "
        "open(sys.argv[3], 'wb').write(b''.join(pages)); print(now() - begin)"
    )
    arguments = [str(out / "names.typ"), str(found.path.parent), str(out / "typst.svg")]
    run = subprocess.run([sys.executable, "-c", code, *arguments], capture_output=True, text=True, check=True)
    return float(run.stdout)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--names", type=int, default=10_000)
    parser.add_argument("--plain", type=int, default=300, help="names for the plain way")
    parser.add_argument("--font", default="great-vibes")
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--cpu", action="store_true", help="count processor time")
    options = parser.parse_args()
    names = invented(options.names)
    with tempfile.TemporaryDirectory() as place:
        out = Path(place)
        found = run_ours(names, options.font, options.runs, out)
        plain = statistics.median(run_plain(names[: options.plain], options.font, out) for _ in range(3))
        typst = statistics.median(run_typst(names, options.font, out) for _ in range(options.runs))
    count = len(names)
    print(f"{count} names, {statistics.mean(map(len, names)):.1f} letters, {options.font}\n")
    print(f"{'µs a name':10}" + "".join(f"{state:>9}" for state in found))
    for stage in (*STAGES, "whole"):
        print(f"{stage:10}" + "".join(f"{spent[stage] / count * 1e6:9.1f}" for spent in found.values()))
    rates = {state: count / found[state]["whole"] for state in found}
    rates |= {"plain": options.plain / plain, "typst": count / typst}
    print("\nnames a second: " + ", ".join(f"{state} {rate:,.0f}" for state, rate in rates.items()))
    for state in found:
        ratios = (rates[state] / rates["plain"], rates[state] / rates["typst"])
        print(f"{state}: {ratios[0]:.1f} × the plain way, {ratios[1]:.2f} × Typst")


if __name__ == "__main__":
    main()
