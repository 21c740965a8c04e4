"""Sheets of stock that a shop has: full ones, and what loads have left over of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated

from pydantic import Field, model_validator

from render.errors import LibraryError
from render.geometry import Path
from render.geometry.pathformat import path_data
from render.geometry.pathtext import parse_path
from render.model import Blank, Hold, Stock
from render.shop.outlines import Distance, Length, Table, Words
from render.units import format_mm, to_um

PathText = Annotated[str, Field(min_length=1, max_length=100_000)]
Thickness = Length


@dataclass(frozen=True, slots=True)
class StockEntry:
    """A kind of sheet that the shop has.

    Attributes:
        stock: its size, gap and margin, and what of it is used up; its id is the entry's.
        material: id of its material.
        thickness: mm.
        count: how many there are; 0: as many as are needed.
        loads: numbers of the loads that have been cut from it.
    """

    title: str
    source: str
    stock: Stock
    material: str
    thickness: float
    count: int = 0
    loads: tuple[int, ...] = ()


class StockFile(Table):
    """A file of ``stock/``."""

    title: Words
    source: Words
    material: Words
    thickness: Length
    width: Length
    height: Length
    margin: Distance = 5.0
    gap: Distance = 2.0
    count: Annotated[int, Field(ge=0, le=10_000)] = 0
    loads: tuple[int, ...] = ()
    used: tuple[PathText, ...] = ()

    @model_validator(mode="after")
    def _sound(self) -> StockFile:
        for text in self.used:
            path = parse_path(text)
            if not path or not path.is_closed():
                raise ValueError("used must hold closed contours (each ending in Z)")
        if self.used and self.count != 1:
            raise ValueError("of a sheet that is partly used there is one: count = 1")
        return self

    def value(self, id_: str) -> StockEntry:
        """The entry."""
        used = tuple(parse_path(text) for text in self.used)
        stock = Stock(self.width, self.height, self.margin, self.gap, used, id_)
        return StockEntry(
            self.title, self.source, stock, self.material, self.thickness, self.count, self.loads
        )


def suits(entry: StockEntry, blank: Blank) -> None:
    """See that a thing can be cut from a sheet.

    Raises:
        LibraryError: it is not cut from stock at all, or of another material or thickness.
    """
    if blank.hold is not Hold.STOCK:
        how = "lies in a jig" if blank.hold is Hold.JIG else "turns in a rotary"
        raise LibraryError(f"{blank.title} {how}, so no stock is needed for it", hint="leave --stock out")
    if entry.material != blank.material:
        raise LibraryError(
            f"the stock {entry.stock.id} is {entry.material}, but {blank.title} is made of {blank.material}",
            hint=f"take stock of {blank.material}, or a blank of {entry.material}",
        )
    if abs(entry.thickness - blank.thickness) > 0.05:
        raise LibraryError(
            f"the stock {entry.stock.id} is {format_mm(entry.thickness)} mm thick, but {blank.title}"
            f" {format_mm(blank.thickness)} mm",
            hint="take stock of that thickness, or a blank of your own with this one",
        )


def with_used(entry: StockEntry, load: int, used: tuple[Path, ...]) -> StockEntry:
    """The entry after a load was cut from it."""
    stock = replace(entry.stock, used=(*entry.stock.used, *used))
    return replace(entry, stock=stock, count=1, loads=(*entry.loads, load))


def stock_toml(entry: StockEntry) -> bytes:
    """The entry as a file of ``stock/``."""
    stock = entry.stock
    lines = [
        f"title = {_quoted(entry.title)}",
        f"source = {_quoted(entry.source)}",
        f"material = {_quoted(entry.material)}",
        f"thickness = {format_mm(entry.thickness)}",
        f"width = {format_mm(stock.width)}",
        f"height = {format_mm(stock.height)}",
        f"margin = {format_mm(stock.margin)}",
        f"gap = {format_mm(stock.gap)}",
        f"count = {entry.count}",
        f"loads = [{', '.join(map(str, entry.loads))}]",
        "used = [ # outlines of what is gone, mm from the top left corner",
    ]
    texts = path_data([(path.commands, to_um(path.points)) for path in stock.used])
    lines += [f'    "{text}",' for text in texts]
    return ("\n".join([*lines, "]"]) + "\n").encode()


def _quoted(text: str) -> str:
    """Text as a TOML basic string."""
    return '"' + "".join(f"\\{c}" if c in '"\\' else c for c in text if c.isprintable()) + '"'
