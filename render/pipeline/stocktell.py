"""How much of the stock becomes pieces and how much is waste, as values for JSON and as lines for people."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from render.sheets.layout import Arrange
from render.sheets.taken import Taken, clear_rectangle, waste_of
from render.units import format_mm, round_mm

if TYPE_CHECKING:
    from render.shop.library import Library

_HOW: Final = {
    Arrange.GRID: "in a grid",
    Arrange.RECTANGLES: "as rectangles",
    Arrange.NESTED: "nested by their shapes",
}


def stock_values(taken: Sequence[Taken], way: Arrange) -> dict[str, Any] | None:
    """Of all sheets together; None where nothing is cut from stock."""
    if not taken:
        return None
    return {
        "arranged": str(way),
        "sheets": len(taken),
        "pieces_mm2": round(sum(t.pieces for t in taken), 1),
        "stock_mm2": round(sum(t.area for t in taken), 1),
        "waste_percent": percent(waste_of(taken)),
        "waste_of_used_percent": percent(waste_of(taken, used=True)),
    }


def taken_values(taken: Taken) -> dict[str, Any]:
    """Of one sheet."""
    return {
        "id": taken.stock.id or None,
        "turned": taken.turned,
        "pieces_mm2": round(taken.pieces, 1),
        "stock_mm2": round(taken.area, 1),
        "waste_percent": percent(taken.waste),
        "waste_of_used_percent": percent(waste_of([taken], used=True)),
        "used_to_mm": round_mm(taken.right),
    }


def taken_words(taken: Taken) -> str:
    """Of one sheet, in a few words: what it is cut from, if that has a name, and the waste."""
    named = f"cut from {taken.stock.id}, " if taken.stock.id else ""
    return named + waste_words([taken])


def waste_words(taken: Sequence[Taken]) -> str:
    """The waste of several sheets, in a few words."""
    whole, part = (percent(waste_of(taken, used=used)) for used in (False, True))
    return f"waste {whole:.1f} %" + (f" ({part:.1f} % of the part used)" if part != whole else "")


def percent(part: float) -> float:
    """A part of one in per cent, to a tenth."""
    return round(100 * part, 1)


def stock_lines(taken: Sequence[Taken], way: Arrange) -> tuple[str, ...]:
    """For people: which sheets, how pieces lie on them, the waste, and what is left of the last."""
    if not taken:
        return ()
    count = f"{len(taken)} sheets" if len(taken) > 1 else "one sheet"
    last = taken[-1]
    lines = [
        f"Stock: {count}, pieces {_HOW[way]}: {waste_words(taken)}; the last is"
        f" used as far as {format_mm(last.right, 0)} of {format_mm(last.width, 0)} mm from its left."
    ]
    ids = list(dict.fromkeys(t.stock.id for t in taken if t.stock.id))
    if ids:
        lines.append(
            f"Cut from {', '.join(ids)}: lay each as it lay before, its top left corner on the bed's."
        )
    return tuple(lines)


def stock_rows(library: Library) -> list[dict[str, Any]]:
    """The sheets and offcuts of a library, one row each."""
    rows = []
    for id_ in library.ids("stock"):
        entry = library.stock(id_)
        stock = entry.stock
        clear = clear_rectangle(stock) if stock.used else (stock.width, stock.height)
        rows.append(
            {
                "id": id_,
                "title": entry.title,
                "material": entry.material,
                "mm": f"{stock.width:g} × {stock.height:g} × {entry.thickness:g}",
                "how many": entry.count or "as needed",
                "clear mm": f"{clear[0]:g} × {clear[1]:g}",
            }
        )
    return rows
