"""`monikerf packing-list`: which piece goes into whose bag."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from render.cli.options import (
    AllSheets,
    AsJson,
    Columns,
    Delimiter,
    Encoding,
    Mend,
    Quantity,
    SheetName,
    Shop,
)
from render.cli.quote import Day, day_in
from render.cli.subject import WHAT, Subject, subject_of
from render.cli.tell import console, print_json, printable
from render.errors import counted


def packing_list(
    what: Annotated[str, typer.Argument(metavar=WHAT, help="An order of the ledger, or a customer's table.")],
    by: Annotated[
        str, typer.Option(metavar="FIELD", help="What bags are sorted by: table, surname, department, bag …")
    ] = "",
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", metavar="FOLDER", help="Where the papers go; else the shop's out."),
    ] = None,
    title: Annotated[str, typer.Option(metavar="TEXT", help="Heads the list; else customer or table.")] = "",
    day: Day = None,
    column: Columns = None,
    quantity: Quantity = 1,
    mend: Mend = False,
    encoding: Encoding = None,
    delimiter: Delimiter = None,
    table_sheet: SheetName = None,
    all_sheets: AllSheets = False,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Write what goes into which bag, and a label with its code for each piece, as PDFs to print.

    Of an order in the ledger it also says what is not made yet. Without a shop folder or --out it only
    tells.
    """
    from render.pipeline import Workshop
    from render.pipeline.packing import ToPack, parcels_by, write_papers
    from render.pipeline.shopfolder import OUT
    from render.shop.settings import read_settings

    subject = subject_of(
        what, shop, column, mend, table_sheet, all_sheets,
        quantity=quantity, encoding=encoding, delimiter=delimiter,
    )  # fmt: skip
    settings = read_settings(shop)
    packed = ToPack(subject.order, subject.order.name)
    if subject.known is not None:
        packed = ToPack.of_ledger(subject.known, subject.order, subject.rows)
    packed = replace(packed, title=title or packed.title)
    usual = settings.work.pack_by
    usual = usual if usual == "surname" or any(usual in p.fields for p in subject.order.pieces) else ""
    field, parcels = parcels_by(subject.order, by or usual)
    files: tuple[Path, ...] = ()
    folder = out or (shop / OUT if shop is not None else None)
    if folder is not None:
        date, letterer = _day(day, shop, subject), Workshop.open(shop).letterer()
        _, files = write_papers(packed, letterer, settings.name or _name(shop), field, date, folder)
    if as_json:
        values = [{"name": p.name, "pieces": [{"id": i, "text": t} for i, t in p.pieces]} for p in parcels]
        whose = {"order": subject.order.name, "by": field, "parcels": values}
        print_json(whose | {"not_made": dict(packed.lacking), "files": [str(f) for f in files]})
        return
    say = console()
    for parcel in parcels:
        pieces = counted(len(parcel.pieces), "piece")
        say.print(f"{printable(parcel.name)}: {pieces}", markup=False, style="bold")
        say.print("  " + ", ".join(printable(text) for _, text in parcel.pieces), markup=False)
    if packed.lacking:
        say.print(f"! not made yet: {len(packed.lacking)}", style="yellow")
    if files:
        say.print("written: " + ", ".join(map(str, files)), markup=False)


def _day(text: str | None, shop: Path | None, subject: Subject) -> str:
    """The day on the papers: of an order in the ledger, what the ledger's clock says."""
    if text is None and shop is not None and subject.known is not None:
        from render.pipeline.shopfolder import open_ledger

        with open_ledger(shop) as ledger:
            return ledger.now[:10]
    return day_in(text).isoformat()


def _name(shop: Path | None) -> str:
    """The shop's name, if only its prices say it."""
    from render.shop.prices.settings import FILE, load_prices

    if shop is None or not (shop / FILE).is_file():
        return ""
    return load_prices(shop / FILE).shop.name
