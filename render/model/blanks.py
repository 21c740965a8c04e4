"""Things before personalisation, and what holds them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from render.geometry import Path
from render.model.round_bodies import RoundBody


class Hold(StrEnum):
    """How a blank is held under the beam."""

    STOCK = "stock"
    """Cut out of a flat sheet of stock."""
    JIG = "jig"
    """Ready-made, lying in a jig."""
    ROTARY = "rotary"
    """Round, turning in a rotary."""


@dataclass(frozen=True, slots=True)
class Stock:
    """A flat sheet of material to cut from, mm: `gap` lies between pieces, `margin` at the rim.

    `used` are closed regions that are gone, from its top left corner; `id` names a remembered offcut.
    """

    width: float
    height: float
    margin: float = 5.0
    gap: float = 2.0
    used: tuple[Path, ...] = ()
    id: str = ""


@dataclass(frozen=True, slots=True)
class Jig:
    """Places for ready-made blanks on the bed, columns × rows; the first's top left corner at `origin`."""

    id: str
    title: str
    columns: int
    rows: int
    origin: tuple[float, float]
    pitch: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Cutting:
    """How a thing is best cut out, mm.

    Attributes:
        tabs: how many hold it in the sheet until it is broken out by hand; 0 for none.
        tab_width: of each.
        lead_in: how far off, in the waste, a cut begins, so that the start mark is not on the piece.
        apart: how far apart pieces lie that are cut one after another, so that heat can go; 0 does not care.
    """

    tabs: int = 0
    tab_width: float = 0.5
    lead_in: float = 0.0
    apart: float = 0.0


@dataclass(frozen=True, slots=True)
class Blank:
    """The thing before personalisation. All lengths mm; (0, 0) is the top left of its outline's box.

    Attributes:
        outline: closed; what is cut (or, ready-made, what the thing looks like).
        holes: closed contours through the thing; cut with it where it is cut from stock.
        folds: open lines to be scored.
        markable: closed region where artwork may lie.
        material: id of its material.
        thickness: mm.
        jig: id of the jig that holds it, when `hold` is JIG.
        stock: the sheet it is cut from, when `hold` is STOCK.
        body: its round surface: when `hold` is ROTARY, and of what lies or is cut to go round something.
        hazards: ids of what can hurt about the thing, whatever it is made of.
        outline_cut: whether the outline is cut; else it bounds the room of a piece that is itself cut out.
        cutting: how it is best cut out.
        grain: whether its width must run with the grain of the stock; None: as its material has one.
    """

    id: str
    title: str
    outline: Path
    holes: tuple[Path, ...]
    folds: tuple[Path, ...]
    markable: Path
    material: str
    thickness: float
    hold: Hold
    jig: str = ""
    stock: Stock | None = None
    body: RoundBody | None = None
    hazards: tuple[str, ...] = ()
    outline_cut: bool = True
    cutting: Cutting = Cutting()
    grain: bool | None = None
