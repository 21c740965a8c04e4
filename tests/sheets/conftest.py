"""Invented pieces, and a writer of a few lines, to test the verification apart from the real one."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import pytest

from render.geometry import CLOSE, CUBIC, LINE, MOVE, QUAD, Path
from render.geometry.shapes import circle, line, rectangle
from render.model import (
    Artwork,
    Blank,
    Hold,
    Jig,
    Machine,
    Mark,
    Operation,
    Placement,
    Rotary,
    RotaryKind,
    RoundBody,
    Sheet,
    Stock,
)
from render.sheets.burn import finished
from render.sheets.layout import LayoutOptions, layout

COLOURS = {
    Operation.ENGRAVE: "#101010",
    Operation.SCORE: "#202020",
    Operation.CUT: "#303030",
    Operation.GUIDE: "#404040",
}


def machine(width: float = 600.0, height: float = 400.0, rotary: Rotary | None = None) -> Machine:
    return Machine("bench", "The bench laser", (width, height), "CO2", 0.1, COLOURS, rotary)


def tag(width: float = 40.0, height: float = 20.0, hold: Hold = Hold.STOCK, **more: object) -> Blank:
    """A tag with a hole on the left and a fold in the middle."""
    outline = rectangle(0, 0, width, height, 2)
    plain = Blank(
        "tag",
        "Tag",
        outline,
        (circle(complex(4, height / 2), 1.5),),
        (line(complex(width / 2, 0), complex(width / 2, height)),),
        outline,
        "card",
        0.5,
        hold,
    )
    return replace(plain, **more)  # type: ignore[arg-type]


def blob(rng: random.Random, cx: float, cy: float, r: float) -> Path:
    """A closed wobbly shape of lines, quadratics and cubics."""
    points, commands = [complex(cx + r, cy)], [MOVE]
    for step in range(1, 9):
        for part in range(kind := rng.choice((1, 2, 3))):
            angle = 2 * np.pi * (step - 1 + (part + 1) / kind) / 8
            points.append(complex(cx, cy) + r * rng.uniform(0.7, 1.0) * complex(np.cos(angle), np.sin(angle)))
        commands.append((LINE, QUAD, CUBIC)[kind - 1])
    return Path.of([*commands, CLOSE], points)


def lettered(piece: str, blank: Blank, letters: int = 3, seed: int = 1) -> Artwork:
    """Artwork with letters: blobs with counters."""
    rng, box = random.Random(f"{piece}{seed}"), blank.outline.bounds()
    step = (box.width - 14) / letters
    r = min(step / 2.2, box.height / 4)
    marks = []
    for k in range(letters):
        centre = (box.x0 + 10 + step * (k + 0.5), box.y0 + box.height / 2)
        outer, inner = blob(rng, *centre, r), blob(rng, *centre, r * 0.4)
        marks.append(Mark(Operation.ENGRAVE, Path.joined((outer, inner))))
    return Artwork(piece, f"Name {piece} & co", tuple(marks))


def sheet_of(count: int = 5, blank: Blank | None = None, **options: object) -> Sheet:
    blank = blank or tag()
    artworks = finished([lettered(f"p{n + 2}", blank) for n in range(count)], blank)
    found = layout(artworks, blank, machine(), stock=Stock(300, 200, 5, 2), options=LayoutOptions(**options))
    assert not found.problems
    return found.sheets[0]


def number(um: int) -> str:
    return f"{um / 1000:.3f}".rstrip("0").rstrip(".")


def data_of(path: Path, um: np.ndarray) -> str:
    text, rest = "", iter(um.tolist())
    for code in path.commands.tolist():
        pairs = [next(rest) for _ in range((1, 1, 2, 3, 0)[code])]
        text += "MLQCZ"[code] + " ".join(f"{number(x)} {number(y)}" for x, y in pairs)
    return text


def escaped(text: str) -> str:
    return text.replace("&", "&amp;")


def tiny_svg(sheet: Sheet) -> str:
    width, height = sheet.size
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{width:g}mm" height="{height:g}mm"'
        f' viewBox="0 0 {width:g} {height:g}">',
        f"<title>{escaped(sheet.title)}</title>",
    ]
    if sheet.settings:
        lines.append(f"<desc>{sheet.settings}</desc>")
    for operation in (Operation.GUIDE, Operation.ENGRAVE, Operation.SCORE, Operation.CUT):
        rows = [group for p in sheet.placements for group in _group(p, operation)]
        if rows:
            colour = sheet.colours[operation]
            fill, stroke = (colour, "none") if operation is Operation.ENGRAVE else ("none", colour)
            lines += [f'<g id="{operation}" fill="{fill}" stroke="{stroke}">', *rows, "</g>"]
    return "\n".join([*lines, "</svg>"])


def _group(placement: Placement, operation: Operation) -> Sequence[str]:
    art = placement.artwork
    marks = [m for m in art.marks if m.operation is operation]
    if not marks:
        return []
    title = escaped(art.title)
    whole = [m.path for m in marks]
    drawn = whole if operation is Operation.ENGRAVE else [c for path in whole for c in path.contours()]
    paths = [f'<path d="{data_of(path, placement.path_um(path))}"/>' for path in drawn]
    return [f'<g id="{art.piece}-{operation}">', f"<title>{art.piece}: {title}</title>", *paths, "</g>"]


@pytest.fixture(scope="session")
def make() -> type:
    """The helpers above, by name."""

    class Make:
        pass

    for helper in (machine, tag, lettered, sheet_of, tiny_svg, blob):
        setattr(Make, helper.__name__, staticmethod(helper))
    Make.Jig, Make.Rotary, Make.RotaryKind, Make.RoundBody = Jig, Rotary, RotaryKind, RoundBody
    return Make


Helper = Callable[..., object]
