"""Sheets: pieces laid out on stock, in jigs and on rotaries, in the order of burning, and verified.

The road through this room: :func:`finished` adds to each artwork what its blank needs, :func:`layout` places
them on as many sheets as they take, and :func:`verify_sheet` reads what was written back.
"""

from render.sheets.burn import burn_order, finished, with_blank
from render.sheets.checks import Finding
from render.sheets.layout import Fill, Layout, LayoutOptions, Turn, layout, reach
from render.sheets.second import SecondReader
from render.sheets.timing import JobTime, OperationTime, sheet_time
from render.sheets.verify import Verification, inspect_sheet, verify_sheet

__all__ = [
    "Fill",
    "Finding",
    "JobTime",
    "Layout",
    "LayoutOptions",
    "OperationTime",
    "SecondReader",
    "Turn",
    "Verification",
    "burn_order",
    "finished",
    "inspect_sheet",
    "layout",
    "reach",
    "sheet_time",
    "verify_sheet",
    "with_blank",
]
