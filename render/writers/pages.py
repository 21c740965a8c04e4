"""Our own SVG pages as one PDF: paths stay paths, at true size, one page each."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import Any, Final

from render.errors import OutputError
from render.units import MM_PER_INCH
from render.writers.png import cairo_hint, checked_size, why_no_cairo

_POINTS_PER_MM: Final = 72 / MM_PER_INCH
"""PDF's unit is 1/72 inch (ISO 32000-1, 8.3.2.3)."""

NO_DATE: Final = "2000-01-01T00:00:00"
"""A PDF must not know the clock, or the same pages would not give the same bytes."""


def pages_pdf(pages: Sequence[bytes], *, title: str, author: str = "", date: str = "") -> bytes:
    """Drawings made by Monikerf as the pages of one PDF; the same pages give the same bytes.

    Args:
        pages: SVG drawings with width and height in absolute units; at least one.
        title: what viewers show in their title bar.
        author: whose it is.
        date: ISO 8601, written as the file's date; empty: a fixed one.

    Raises:
        OutputError: a page is no drawing of ours, or libcairo is missing here.
        ValueError: there are no pages.
    """
    if not pages:
        raise ValueError("a PDF of no pages")
    sizes = [checked_size(page) for page in pages]
    if why_no_cairo():
        raise OutputError("a PDF cannot be drawn, since libcairo is missing here", hint=cairo_hint())
    import cairocffi

    out = BytesIO()
    points = [(width * _POINTS_PER_MM, height * _POINTS_PER_MM) for width, height in sizes]
    surface = cairocffi.PDFSurface(out, *points[0])
    surface.set_metadata(cairocffi.PDF_METADATA_TITLE, title)
    surface.set_metadata(cairocffi.PDF_METADATA_AUTHOR, author)
    surface.set_metadata(cairocffi.PDF_METADATA_CREATOR, "Monikerf")
    for key in (cairocffi.PDF_METADATA_CREATE_DATE, cairocffi.PDF_METADATA_MOD_DATE):
        surface.set_metadata(key, date if "T" in date else f"{date}T00:00:00" if date else NO_DATE)
    for page, (width, height) in zip(pages, points, strict=True):
        surface.set_size(width, height)
        _draw(page, surface)
        surface.show_page()
    surface.finish()
    return out.getvalue()


def _draw(page: bytes, surface: Any) -> None:
    """Draw one page on the surface that all share; finishing it is left to the caller."""
    from cairosvg.surface import PDFSurface

    class Page(PDFSurface):  # type: ignore[misc]
        def _create_surface(self, width: float, height: float) -> tuple[Any, float, float]:
            return surface, width, height

        def finish(self) -> None:
            pass

    Page.convert(bytestring=page, write_to=BytesIO())
