"""Fitting: size, line breaks, alignment and place of lettering, in regions and along paths.

Pure: it is handed a function that measures text and never sees an outline.
"""

from render.fitting.arcs import ArcPath
from render.fitting.notes import Limits
from render.fitting.order import fit_order
from render.fitting.regions import region_of
from render.fitting.report import SetReport, explain_set
from render.fitting.sizing import exceptions_allowed, set_size

__all__ = [
    "ArcPath",
    "Limits",
    "SetReport",
    "exceptions_allowed",
    "explain_set",
    "fit_order",
    "region_of",
    "set_size",
]
