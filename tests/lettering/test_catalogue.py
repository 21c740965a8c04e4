"""The page about the fonts is what the fonts say today."""

from __future__ import annotations

from render.lettering.catalogue import measured_table, page, read
from render.lettering.detail import MEASURED
from render.resources import folder

OURS = folder("fonts_open")


def test_page_and_table_are_up_to_date() -> None:
    shelf, details = read(OURS)
    assert (OURS / "README.md").read_text(encoding="utf-8") == page(shelf, details)
    assert (OURS / MEASURED).read_text(encoding="utf-8") == measured_table(shelf, details)
