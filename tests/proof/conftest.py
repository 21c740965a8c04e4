"""Words and pieces for the tests of this room: set by HarfBuzz straight from the open fonts."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import pytest
import uharfbuzz as hb

from render.geometry import CLOSE, CUBIC, LINE, MOVE, QUAD, Path
from render.proof import Letter, Wording
from render.resources import folder

PLAIN = "source-sans-3/SourceSans3_600SemiBold.ttf"
OTHERS = (
    "noto-naskh-arabic/NotoNaskhArabic_600SemiBold.ttf",
    "noto-sans-devanagari/NotoSansDevanagari_500Medium.ttf",
    "noto-sans-thai/NotoSansThai_500Medium.ttf",
    "frank-ruhl-libre/FrankRuhlLibre_500Medium.ttf",
    "noto-sans/NotoSans_500Medium.ttf",
)


@cache
def _font(file: str) -> tuple[hb.Face, hb.Font]:
    face = hb.Face((folder("fonts_open") / file).read_bytes())
    return face, hb.Font(face)


@cache
def word(text: str, file: str = PLAIN) -> Wording:
    """A text shaped in one font, in em, y down."""
    face, font = _font(file)
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    hb.shape(font, buffer)
    commands: list[int] = []
    points: list[complex] = []
    pen = 0.0
    for info, position in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        at = complex(pen + position.x_offset, position.y_offset)

        def add(command: int, *xy: float, at: complex = at) -> None:
            commands.append(command)
            points.extend(complex(x, y) + at for x, y in zip(xy[::2], xy[1::2], strict=True))

        funcs = hb.DrawFuncs()
        funcs.set_move_to_func(lambda x, y, _: add(MOVE, x, y))
        funcs.set_line_to_func(lambda x, y, _: add(LINE, x, y))
        funcs.set_quadratic_to_func(lambda a, b, x, y, _: add(QUAD, a, b, x, y))
        funcs.set_cubic_to_func(lambda a, b, c, d, x, y, _: add(CUBIC, a, b, c, d, x, y))
        funcs.set_close_path_func(lambda _: add(CLOSE))
        font.draw_glyph(info.codepoint, funcs, None)
        pen += position.x_advance
    return Wording(Path.of(commands, [p.conjugate() / face.upem for p in points]), pen / face.upem)


@cache
def covering(text: str) -> str:
    """The first font that has every letter of the text."""
    needed = {ord(c) for c in text if c != "\u200d"}
    for file in (PLAIN, *OTHERS):
        if needed <= set(_font(file)[0].unicodes):
            return file
    return PLAIN


def letter_of(text: str, strong: bool = False) -> Wording:
    return word(text, covering(text))


@pytest.fixture
def letter() -> Letter:
    return letter_of


@pytest.fixture
def script() -> Callable[[str], Wording]:
    """Lettering for the pieces themselves."""
    return lambda text: word(text, "great-vibes/GreatVibes_400Regular.ttf")
