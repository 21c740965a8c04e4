"""Our own SVG as a PNG picture: by cairosvg, or by resvg where the system has no libcairo.

Only drawings made by Monikerf come here. What any of them may contain is listed, and the rest is refused,
so that a stranger's file can never reach a renderer by mistake.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from render.errors import OutputError
from render.units import MM_PER_INCH, parse_length
from render.writers.pngbytes import packed, with_density

MOST_PIXELS: Final = 120_000_000
"""Larger pictures are refused: four bytes a pixel, several copies in memory."""

_ELEMENTS: Final = frozenset((b"svg", b"g", b"path", b"title", b"desc", b"rect", b"circle", b"line", b"?xml"))
_TAG = re.compile(rb"<(?!/)([^\s/>]*)")
_MARKUP = re.compile(rb"<!|&(?!amp;|lt;|gt;|quot;|apos;|#)")
_REFERENCE = re.compile(rb"href|url\(", re.IGNORECASE)
_SIZE = re.compile(rb'<svg[^>]*?\swidth="([^"]+)"[^>]*?\sheight="([^"]+)"')

_MAC_FOLDERS: Final = ("/opt/homebrew/lib", "/usr/local/lib", "/opt/local/lib")
_WINDOWS_FOLDERS: Final = (
    r"C:\Program Files\GTK3-Runtime Win64\bin",
    r"C:\msys64\ucrt64\bin",
    r"C:\msys64\mingw64\bin",
)
"""Where package managers put libcairo on macOS and Windows: common practice, no source."""

CAIRO_HINTS: Final = {
    "linux": "install libcairo: sudo apt install libcairo2 (Debian, Ubuntu), "
    "sudo dnf install cairo (Fedora), sudo pacman -S cairo (Arch)",
    "darwin": "install libcairo: brew install cairo",
    "win32": "install the GTK 3 runtime or MSYS2's cairo, "
    "and name its bin folder in the variable CAIROCFFI_DLL_DIRECTORIES",
}
"""By ``sys.platform``: how libcairo is brought."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A finished PNG.

    Attributes:
        png: the file's bytes, physical size included.
        engine: which renderer drew it, ``cairosvg`` or ``resvg``.
        note: empty, or one sentence on why it was not the usual renderer.
    """

    png: bytes
    width: int
    height: int
    engine: str
    note: str = ""


def render_png(svg: bytes, *, width_px: int | None = None, dpi: float = 96.0) -> Picture:
    """Draw one of Monikerf's own SVG drawings.

    Args:
        svg: a drawing with width and height in absolute units.
        width_px: width of the picture; None takes it from the drawing's size at `dpi`.
        dpi: pixels an inch, where `width_px` is None.

    Raises:
        OutputError: it is not a drawing of ours, it would be too large, or no renderer works here.
    """
    width, height = checked_size(svg)
    across = width_px if width_px is not None else max(1, round(width / MM_PER_INCH * dpi))
    down = max(1, round(across * height / width))
    if across < 1 or across * down > MOST_PIXELS:
        raise OutputError(
            f"a picture of {across} × {down} pixels cannot be drawn", hint="ask for fewer pixels across"
        )
    engine, note = usual_engine()
    png = ENGINES[engine](svg, across, down)
    return Picture(with_density(png, across / width), across, down, engine, note)


def checked_size(svg: bytes) -> tuple[float, float]:
    """Width and height in mm of a drawing that has nothing but plain shapes in it.

    Raises:
        OutputError: there is something else in it.
    """
    size = _SIZE.search(svg, 0, 2000)
    strange = set(_TAG.findall(svg)) - _ELEMENTS
    if size is None or strange or _MARKUP.search(svg) or _has_references(svg):
        raise OutputError("only drawings made by Monikerf are turned into pictures")
    try:
        width, height = (parse_length(value.decode("ascii")) for value in size.groups())
    except ValueError as error:
        raise OutputError("the drawing does not say how large it is") from error
    if width <= 0 or height <= 0:
        raise OutputError("the drawing has no size")
    return width, height


def _has_references(svg: bytes) -> bool:
    """Whether a tag (not the text of a title) points at anything."""
    places = (match.start() for match in _REFERENCE.finditer(svg))
    return any(svg.rfind(b"<", 0, place) > svg.rfind(b">", 0, place) for place in places)


# ---------------------------------------------------------------- renderers


def _by_cairosvg(svg: bytes, width: int, height: int) -> bytes:
    """Drawn by cairosvg; an opaque picture is packed here, which takes half as long as cairo does."""
    from cairosvg.surface import PNGSurface

    class Surface(PNGSurface):  # type: ignore[misc]
        def finish(self) -> None:
            self.cairo.flush()
            png = packed(self.cairo.get_data(), self.cairo.get_width(), self.cairo.get_height())
            if png is None:
                super().finish()
            else:
                self.output.write(png)

    png: bytes = Surface.convert(bytestring=svg, output_width=width, output_height=height)
    return png


def _by_resvg(svg: bytes, width: int, height: int) -> bytes:
    import resvg_py

    return bytes(
        resvg_py.svg_to_bytes(
            svg_string=svg.decode(), width=width, height=height, dpi=96, skip_system_fonts=True
        )
    )


ENGINES: Final[dict[str, Callable[[bytes, int, int], bytes]]] = {"cairosvg": _by_cairosvg, "resvg": _by_resvg}
"""The renderers, the usual one first: each takes SVG, width and height in pixels."""


@cache
def usual_engine() -> tuple[str, str]:
    """The first renderer that works here, and a note where it is not the first of all.

    Raises:
        OutputError: none works.
    """
    cairo = why_no_cairo()
    if not cairo:
        return "cairosvg", ""
    try:
        import resvg_py  # noqa: F401
    except (ImportError, OSError) as error:
        raise OutputError("no renderer for pictures works here", hint=cairo_hint()) from error
    return (
        "resvg",
        f"pictures were drawn by resvg, since libcairo is missing here; to have it, {cairo_hint()}",
    )


@cache
def why_no_cairo() -> str:
    """Empty where cairosvg works; otherwise why it does not.

    Without libcairo, importing it raises OSError, not ImportError.
    """
    _show_the_way()
    try:
        import cairosvg  # noqa: F401
    except (ImportError, OSError) as error:
        return str(error).split("\n", 1)[0] or type(error).__name__
    return ""


def cairo_hint() -> str:
    """How to bring libcairo to this system."""
    return CAIRO_HINTS.get(sys.platform, CAIRO_HINTS["linux"])


def _show_the_way() -> None:
    """Let libcairo be found where package managers put it but the loader does not look."""
    if sys.platform == "darwin":
        _add_folders("DYLD_FALLBACK_LIBRARY_PATH", _MAC_FOLDERS, ":")
    elif sys.platform == "win32":
        _add_folders("CAIROCFFI_DLL_DIRECTORIES", _WINDOWS_FOLDERS, ";")


def _add_folders(variable: str, folders: Sequence[str], separator: str) -> None:
    """Append those of the folders that exist to an environment variable of this process."""
    present = [part for part in os.environ.get(variable, "").split(separator) if part]
    present += [folder for folder in folders if folder not in present and Path(folder).is_dir()]
    if present:
        os.environ[variable] = separator.join(present)
