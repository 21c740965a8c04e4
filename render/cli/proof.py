"""`monikerf proof`: what a customer is shown, of an order in the ledger or of a bare table."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

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
    order_from,
)
from render.cli.subject import refuse_for_order
from render.cli.tell import console, print_json, progress_bar
from render.errors import MonikerfError, counted

if TYPE_CHECKING:
    from render.cli.tell import Progress
    from render.model import Order
    from render.pipeline.proofing import Proofed
    from render.proof.shown import ShopWords


def proof(
    what: Annotated[
        str, typer.Argument(metavar="ORDER|TABLE", help="An order of the ledger; with --template a table.")
    ],
    template: Annotated[
        str, typer.Option("--template", "-t", metavar="ID", help="The design, for a table without a ledger.")
    ] = "",
    out: Annotated[
        Path | None, typer.Option("--out", "-o", metavar="FOLDER", help="Where the files go.")
    ] = None,
    title: Annotated[str, typer.Option(metavar="TEXT", help="Heads the proof; else the order's name.")] = "",
    until: Annotated[
        str | None, typer.Option(metavar="DATE", help="Until when the customer may answer; none: no date.")
    ] = None,
    watermark: Annotated[
        str | None, typer.Option(metavar="TEXT", help="Lies across the pictures; else the shop's own.")
    ] = None,
    pictures: Annotated[
        bool, typer.Option("--pictures/--no-pictures", help="A picture of each piece beside the page.")
    ] = True,
    blank: Annotated[str | None, typer.Option(metavar="ID", help="For a table: the thing.")] = None,
    machine: Annotated[str | None, typer.Option(metavar="ID", help="For a table: the machine.")] = None,
    font: Annotated[str | None, typer.Option(metavar="ID", help="For a table: the font.")] = None,
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
    """Show the customer what will be made: a page to answer on, a true-size PDF, pictures.

    Send proof.html: it opens on any phone or computer without a network, and makes a short answer text that
    monikerf answer reads. Of an order in the ledger, the pieces that are not approved yet are shown, and what
    was shown is written down.
    """
    with progress_bar(shown=not as_json) as progress:
        look = {"title": title, "until": until, "watermark": watermark, "pictures": pictures, "out": out}
        if template:
            _must_be_table(what)
            order = order_from(
                Path(what), column, mend, table_sheet, all_sheets,
                quantity=quantity, encoding=encoding, delimiter=delimiter, name=title,
            )  # fmt: skip
            things = {"blank": blank, "machine": machine, "font": font}
            done = _of_table(order, template, things, shop, look, progress)
        else:
            _must_be_order(what)
            refuse_for_order(what, {
                "--column": column, "--quantity": quantity != 1, "--mend": mend, "--encoding": encoding,
                "--delimiter": delimiter, "--table-sheet": table_sheet, "--all-sheets": all_sheets,
                "--blank": blank, "--machine": machine, "--font": font,
            })  # fmt: skip
            done = _of_order(what, shop, look, progress)
    _tell(done, as_json)
    if done["not_shown"]:
        raise typer.Exit(1)


def _of_table(
    order: Order,
    template: str,
    things: dict[str, Any],
    shop: Path | None,
    look: dict[str, Any],
    progress: Progress,
) -> dict[str, Any]:
    """The proof of a table, without a ledger."""
    from render.pipeline import Workshop
    from render.pipeline.proofing import proof_of_table

    if look["out"] is None:
        raise MonikerfError("it is not said where the proof goes", hint="name a folder: --out FOLDER")
    workshop = Workshop.open(shop)
    job = workshop.job(template, **things)
    made = proof_of_table(order, job, workshop, _words(shop, look), 0, progress)
    return _written(made, look["out"], look, progress)


def _must_be_table(what: str) -> None:
    """See that what was named with a template is not meant for an order of the ledger.

    Raises:
        MonikerfError: there is no file of that name, and it looks like an order's.
    """
    table = Path(what)
    if not (table.exists() or table.suffix or len(table.parts) > 1):
        hint = "for an order of the ledger leave --template out; for a table write its whole name"
        raise MonikerfError(f"there is no table {what}", hint=hint)


def _must_be_order(what: str) -> None:
    """See that what was named without a template is not a table.

    Raises:
        MonikerfError: it is; with both things that can be done.
    """
    if Path(what).is_file():
        raise MonikerfError(
            f"{what} is a table", hint="say the design with --template, or take it in: monikerf take-order"
        )


def _of_order(name: str, shop: Path | None, look: dict[str, Any], progress: Progress) -> dict[str, Any]:
    """The proof of an order in the ledger, written down there."""
    from render.cli.asking import open_shop_ledger
    from render.pipeline import Workshop
    from render.pipeline.orders import order_artworks
    from render.pipeline.proofing import next_folder, proof_of

    with open_shop_ledger(shop) as (folder, ledger):
        workshop = Workshop.open(folder)
        drawn = order_artworks(ledger, name, workshop, progress)
        if not drawn.to_show:
            raise MonikerfError(
                f"nothing of {name} is to be shown: every piece is approved, made, or waits to be corrected",
                hint="see monikerf today",
            )
        held = {piece.id for piece in ledger.pieces(name) if piece.held}
        made = proof_of(
            drawn.order, drawn.job, workshop.letterer(), drawn.artworks, drawn.seen, drawn.fitted,
            drawn.problems, _words(folder, look), title=look["title"] or ledger.order(name).customer,
            only={*drawn.to_show, *held},
        )  # fmt: skip
        out = look["out"] or next_folder(folder / "proofs" / name)
        done = _written(made, out, look, progress)
        shown = {piece.id: piece.digest for piece in made.shown.drawn}
        place = out.relative_to(folder) if out.is_relative_to(folder) else out
        files = [(place / file).as_posix() for file in done["files"]]
        done["proof"] = ledger.record_proof(name, shown, files)
    return done


def _written(made: Proofed, out: Path, look: dict[str, Any], progress: Progress) -> dict[str, Any]:
    from render.pipeline.proofing import write_proof

    if not made.shown.drawn:
        stops = [p for p in made.problems if p.severity == "stop"]
        why = stops[0].message if stops else "the table has no names"
        raise MonikerfError(f"no piece can be shown: {why}", hint=stops[0].hint if stops else "")
    files = write_proof(made, out, progress, pictures=look["pictures"])
    return {
        "order": made.shown.order,
        "folder": str(out),
        "files": list(files),
        "shown": [{"id": p.id, "text": p.title, "digest": p.digest} for p in made.shown.drawn],
        "not_shown": [{"id": p.id, "text": p.title} for p in made.shown.missing],
    }


def _words(shop: Path | None, look: dict[str, Any]) -> ShopWords:
    """What the shop says on a proof: its settings, and what was typed."""
    from render.proof.shown import ShopWords
    from render.shop.settings import read_settings

    settings = read_settings(shop)
    mark = settings.proof.watermark if shop is not None else ""
    days = settings.proof.expiry_days if shop is not None else 0
    day = date.today() + timedelta(days) if days else None
    if look["until"] is not None:
        try:
            day = date.fromisoformat(look["until"]) if look["until"] != "none" else None
        except ValueError as error:
            raise MonikerfError(
                f"--until {look['until']!r} is not a day", hint="write it like 2026-06-19, or none"
            ) from error
    return ShopWords(
        settings.name,
        settings.contact,
        mark if look["watermark"] is None else look["watermark"],
        f"{day.day} {day:%B %Y}" if day else "",
    )


def _tell(done: dict[str, Any], as_json: bool) -> None:
    if as_json:
        print_json(done)
        return
    say = console()
    say.print(f"{done['order']}: {counted(len(done['shown']), 'piece')} to show", markup=False)
    for piece in done["not_shown"]:
        say.print(f"  not shown, held back: {piece['id']} {piece['text']}", markup=False)
    whole = [name for name in done["files"] if "/" not in name]
    say.print(f"written to {done['folder']}: {', '.join(whole)}", markup=False)
    say.print("Send proof.html to the customer; monikerf answer reads what comes back.")
