"""The plain immutable values that cross from room to room.

Nothing here opens a file, knows a font or draws; the words are those of DEVELOPERS.md.
"""

from render.model.artwork import Artwork, Mark
from render.model.blanks import Blank, Cutting, Hold, Jig, Stock
from render.model.fits import (
    Align,
    Anchor,
    Balance,
    CutPart,
    CutRule,
    FitRule,
    Fitted,
    Hang,
    LetterRequest,
    Remedy,
    SetLine,
    Shaping,
    Side,
    SizePolicy,
    Swash,
)
from render.model.lines import SKYLINE_STEP, Clusters, Line, Measure, Paragraph, Setting, Skyline, Weight
from render.model.machines import Calibration, Light, Machine, Motion, Recipe, Rotary, RotaryKind, Timing
from render.model.materials import Hazard, LightRule, Material, Works
from render.model.operations import BURN_ORDER, Operation
from render.model.orders import Order, Piece
from render.model.problems import Problem, Severity
from render.model.round_bodies import KeepOut, Lay, Place, RoundBody, Sleeve, Surface
from render.model.sheets import Placement, Sheet

__all__ = [
    "BURN_ORDER",
    "SKYLINE_STEP",
    "Align",
    "Anchor",
    "Artwork",
    "Balance",
    "Blank",
    "Calibration",
    "Clusters",
    "CutPart",
    "CutRule",
    "Cutting",
    "FitRule",
    "Fitted",
    "Hang",
    "Hazard",
    "Hold",
    "Jig",
    "KeepOut",
    "Lay",
    "LetterRequest",
    "Light",
    "LightRule",
    "Line",
    "Machine",
    "Mark",
    "Material",
    "Measure",
    "Motion",
    "Operation",
    "Order",
    "Paragraph",
    "Piece",
    "Place",
    "Placement",
    "Problem",
    "Recipe",
    "Remedy",
    "Rotary",
    "RotaryKind",
    "RoundBody",
    "SetLine",
    "Setting",
    "Severity",
    "Shaping",
    "Sheet",
    "Side",
    "SizePolicy",
    "Skyline",
    "Sleeve",
    "Stock",
    "Surface",
    "Swash",
    "Timing",
    "Weight",
    "Works",
]
