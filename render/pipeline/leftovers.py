"""Which sheets of stock a job is cut from, and what loads leave over of them."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from render.errors import LibraryError
from render.geometry.pathformat import path_data
from render.geometry.pathtext import parse_path
from render.model import Artwork, Machine, Placement, Sheet, Stock
from render.sheets.irregular import turned_artwork
from render.sheets.layout import Layout
from render.sheets.taken import Taken, clear_rectangle, used_up
from render.shop.stocks import StockEntry, stock_toml, suits, with_used
from render.units import format_mm, to_um
from render.writers.files import ready_folder, write_atomically

if TYPE_CHECKING:
    from render.pipeline.workshop import Job, Workshop
    from render.shop.ledger import Ledger, Load

LAYING: Final = "laying.json"
"""Beside the sheet of a load: how its pieces lie on stock and what is used up; or how sections are cut."""

SMALLEST_MM: Final = 50.0
"""What is left is kept if a rectangle with sides of at least this is clear: common practice, no source."""

LaidLoad = tuple["Load", Mapping[str, Any]]


def on_stock(job: Job, ids: Sequence[str], workshop: Workshop, loads: Sequence[LaidLoad] = ()) -> Job:
    """The job cut from the sheets of these ids, in this order; the blank's own stock follows.

    What loads that are not yet accounted for take of a sheet is left alone.

    Raises:
        LibraryError: one is not there, does not suit the thing, is used up, or makes those after it idle.
    """
    offcuts: list[Stock] = []
    for number, id_ in enumerate(dict.fromkeys(ids)):
        entry = workshop.library.stock(id_)
        suits(entry, job.blank)
        if not entry.count:
            if number < len(dict.fromkeys(ids)) - 1:
                raise LibraryError(
                    f"of the stock {id_} there is as much as is needed, so what is named after it is idle",
                    hint="name it last, or say in its file how many there are: count",
                )
            return replace(job, stock=replace(entry.stock, id=id_), offcuts=tuple(offcuts))
        offcuts += _on_hand(entry, loads)
    return replace(job, offcuts=tuple(offcuts))


def _on_hand(entry: StockEntry, loads: Sequence[LaidLoad]) -> list[Stock]:
    """The sheets of an entry that loads have not taken, or the one with what they take of it."""
    id_ = entry.stock.id
    mine = [(load, v) for load, v in loads if v["stock"]["id"] == id_ and load.state != "dropped"]
    if entry.count > 1:
        return [entry.stock] * (entry.count - sum(load.state == "open" for load, _ in mine))
    gone = [parse_path(text) for load, v in mine if load.id not in entry.loads for text in v["used"]]
    return [replace(entry.stock, used=(*entry.stock.used, *gone))]


def loads_of(shop: Path | None) -> tuple[LaidLoad, ...]:
    """The same of a shop whose ledger is not open; none where there is no ledger."""
    from render.pipeline.shopfolder import open_ledger
    from render.shop.ledger import FILE

    if shop is None or not (shop / FILE).is_file():
        return ()
    with open_ledger(shop) as ledger:
        return laid_loads(ledger, shop)


def laid_loads(ledger: Ledger, shop: Path) -> tuple[LaidLoad, ...]:
    """The loads of a shop that say how they lie on stock, each with what it says."""
    found = ((load, read_laying((shop / load.file).parent)) for load in ledger.loads())
    return tuple((load, values) for load, values in found if values is not None)


def laying_text(laid: Sheet, cut: Sheet, taken: Taken, cutting: Mapping[str, Any], kerf: float) -> bytes:
    """How a load lies on its stock, as JSON: enough to lay it so again, and to know what is used up.

    Args:
        laid: the sheet before kerf and the like.
        cut: the same as it is cut.
        taken: what it takes of its stock.
        cutting: how it was asked to be cut.
        kerf: width of the cut, mm.
    """
    stock = taken.stock
    used = used_up(cut, taken, kerf / 2)
    values = {
        "stock": {
            "id": stock.id,
            "width": stock.width,
            "height": stock.height,
            "margin": stock.margin,
            "gap": stock.gap,
        },
        "turned": taken.turned,
        "title": laid.title,
        "size": list(laid.size),
        "gap": laid.gap,
        "cutting": dict(cutting),
        "places": [
            {
                "piece": p.artwork.piece,
                "place": p.place,
                "x_um": p.x_um,
                "y_um": p.y_um,
                "quarters": p.quarters,
                "angle": taken.angles.get(p.artwork.piece, 0.0),
            }
            for p in laid.placements
        ],
        "used": path_data([(path.commands, to_um(path.points)) for path in used]),
    }
    return (json.dumps(values, ensure_ascii=False, indent=1) + "\n").encode()


def read_laying(folder: Path) -> dict[str, Any] | None:
    """What a load's folder says of how it lies; None where it says nothing that can be understood."""
    try:
        values = json.loads((folder / LAYING).read_text(encoding="utf-8"))
        for text in values["used"]:
            parse_path(text)
        float(values["stock"]["width"]), values["stock"]["id"], values["places"]
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return dict(values)


def sections_text(cutting: Mapping[str, Any]) -> bytes:
    """How the sections of a load were asked to be cut, as JSON: enough to split and cut it so again."""
    return (
        json.dumps({"sections": {"cutting": dict(cutting)}}, ensure_ascii=False, indent=1) + "\n"
    ).encode()


def read_sections(folder: Path) -> dict[str, Any] | None:
    """How the sections in a load's folder were asked to be cut; None where it holds no sections."""
    try:
        values = json.loads((folder / LAYING).read_text(encoding="utf-8"))
        return dict(values["sections"]["cutting"])
    except (OSError, ValueError, KeyError, TypeError):
        return None


def laid_again(values: Mapping[str, Any], artworks: Sequence[Artwork], machine: Machine) -> Layout:
    """The layout of one load, as it was before.

    Args:
        values: of :func:`read_laying`.
        artworks: finished, of all its pieces.
        machine: that it is for.

    Raises:
        KeyError: one of its pieces is not there.
    """
    by_id = {a.piece: a for a in artworks}
    placements = tuple(
        Placement(
            turned_artwork(by_id[p["piece"]], p["angle"]), p["place"], p["x_um"], p["y_um"], p["quarters"]
        )
        for p in values["places"]
    )
    size = (values["size"][0], values["size"][1])
    sheet = Sheet(1, values["title"], size, values["gap"], placements, machine.colours)
    return Layout((sheet,), 0, 0, False)


def keep_all_that_is_left(loads: Sequence[Load], shop: Path, *, scrap: bool = False) -> tuple[str, ...]:
    """Remember what each of several loads has left of its stock; say what was done."""
    from render.pipeline.workshop import Workshop

    told = (keep_what_is_left(load, Workshop.open(shop), shop, scrap=scrap) for load in loads)
    return tuple(line for line in told if line)


def keep_what_is_left(load: Load, workshop: Workshop, shop: Path, *, scrap: bool = False) -> str:
    """Remember what a load that came off the machine has left of its stock; say what was done.

    A sheet of which there is one keeps its id; what is left of any other is a new entry, named after the
    load. What has no clear rectangle worth keeping is not remembered, and no entry stays of what is scrap.

    Raises:
        LibraryError: the entry cannot be read.
        OutputError: it cannot be written.
    """
    values = read_laying((shop / load.file).parent)
    if values is None:
        return ""
    old = _entry_of(values, workshop, load)
    if load.id in old.loads:
        return ""
    new = with_used(old, load.id, tuple(parse_path(text) for text in values["used"]))
    clear = clear_rectangle(new.stock)
    folder = shop / "library" / "stock"
    one = bool(old.stock.id) and old.count == 1
    if old.count > 1:
        _one_less(workshop.library.file("stock", old.stock.id), old.count)
    if scrap or (min(clear) < SMALLEST_MM and not one):
        if scrap and one:
            (folder / f"{old.stock.id}.toml").unlink(missing_ok=True)
        return ""
    id_ = old.stock.id if one else f"offcut-{load.id:04d}"
    size = " × ".join(format_mm(side) for side in clear)
    new = replace(new, stock=replace(new.stock, id=id_), title=_title(old, size))
    write_atomically(ready_folder(folder) / f"{id_}.toml", stock_toml(new))
    if min(clear) < SMALLEST_MM:
        return f"little is left of {id_}: delete {folder / id_}.toml when you throw it away"
    return f"what is left is kept as {id_}, {size} mm of it clear: --stock {id_} uses it first"


def _title(old: StockEntry, clear: str) -> str:
    whole = re.sub(r"; \S+ × \S+ mm clear\Z", "", old.title)
    return f"{whole}; {clear} mm clear"


def _entry_of(values: Mapping[str, Any], workshop: Workshop, load: Load) -> StockEntry:
    """The entry that a load was cut from; one made up for the stock of a blank, or where it is gone."""
    said = values["stock"]
    try:
        if said["id"]:
            return workshop.library.stock(said["id"])
    except LibraryError:
        pass  # thrown away meanwhile, or never kept
    blank = workshop.library.blank(load.blank)
    material = workshop.library.material(load.material)
    stock = Stock(said["width"], said["height"], said["margin"], said["gap"])
    title = f"{material.title}, {format_mm(said['width'])} × {format_mm(said['height'])} mm, part used"
    return StockEntry(title, "kept by Monikerf when a load was made", stock, material.id, blank.thickness)


def _one_less(file: Path, count: int) -> None:
    """Of sheets that are counted there is one less; the rest of the file stays as it is."""
    text = file.read_text(encoding="utf-8")
    write_atomically(file, re.sub(r"(?m)^count\s*=\s*\d+", f"count = {count - 1}", text, count=1).encode())
