"""`monikerf pack`: which piece goes into whose bag."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import AllSheets, AsJson, Columns, Mend, SheetName, Shop, TablePath, order_from
from render.cli.quote import Day, day_in
from render.cli.tell import console, print_json


def pack(
    table: TablePath,
    by: Annotated[
        str, typer.Option(metavar="FIELD", help="What goes together; else department, table or sheet.")
    ] = "",
    out: Annotated[
        Path | None, typer.Option("--out", "-o", metavar="FILE.pdf", help="Write the list there.")
    ] = None,
    title: Annotated[str, typer.Option(metavar="TEXT", help="The order's name; else the table's.")] = "",
    day: Day = None,
    column: Columns = None,
    mend: Mend = False,
    table_sheet: SheetName = None,
    all_sheets: AllSheets = False,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Make a packing list: the pieces by department, by table or by any other column."""
    from render.pipeline import Workshop
    from render.pipeline.packing import packing_pages, parcels_of
    from render.writers.files import ready_folder, write_atomically
    from render.writers.pages import pages_pdf

    order = order_from(table, column, mend, table_sheet, all_sheets)
    order = replace(order, name=title or order.name)
    field, parcels = parcels_of(order, by)
    if out is not None:
        date = day_in(day).isoformat()
        about = {"shop": _shop_name(shop), "by": field, "date": date}
        pages = packing_pages(order, parcels, Workshop.open(shop).letterer(), about)
        ready_folder(out.parent)
        write_atomically(out, pages_pdf(pages, title=f"Packing list: {order.name}", date=date))
    if as_json:
        values = [{"name": p.name, "pieces": [{"id": i, "text": t} for i, t in p.pieces]} for p in parcels]
        print_json({"order": order.name, "by": field, "parcels": values, "file": str(out) if out else None})
        return
    say = console()
    for parcel in parcels:
        say.print(f"{parcel.name}: {len(parcel.pieces)}", markup=False, style="bold")
        say.print("  " + ", ".join(text for _, text in parcel.pieces), markup=False)
    if out is not None:
        say.print(f"written: {out}", markup=False)


def _shop_name(shop: Path | None) -> str:
    """The shop's name, if its prices say it."""
    from render.shop.prices.settings import FILE, load_prices

    if shop is None or not (shop / FILE).is_file():
        return ""
    return load_prices(shop / FILE).shop.name
