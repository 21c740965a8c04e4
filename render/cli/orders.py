"""`monikerf take-order`, `correct`, `note`, `history`, `today`: what is asked for, and how far it is."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Annotated, Any

import typer

from render.cli.asking import OrderId, confirmed, fields_in, open_shop_ledger
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
    TablePath,
    order_from,
)
from render.cli.tell import console, print_json, printable, tell_problems
from render.errors import MonikerfError, counted

if TYPE_CHECKING:
    from render.shop.ledger import About, Ledger, LedgerPiece, Taken


def take_order(
    table: TablePath,
    template: Annotated[
        str, typer.Option("--template", "-t", metavar="ID", help="The design; needed for a new order.")
    ] = "",
    order: Annotated[
        str, typer.Option("--order", metavar="ID", help="The order's id; else made of the table's name.")
    ] = "",
    customer: Annotated[str | None, typer.Option(help="Whose order it is.")] = None,
    due: Annotated[
        str | None, typer.Option(metavar="DATE", help="When it must be ready: 2026-06-19.")
    ] = None,
    price: Annotated[
        str, typer.Option(metavar="AMOUNT", help="What the customer agreed to pay, in the shop's currency.")
    ] = "",
    blank: Annotated[str, typer.Option(metavar="ID", help="The thing; else the template's own.")] = "",
    machine: Annotated[str, typer.Option(metavar="ID", help="The machine; else the first that can.")] = "",
    font: Annotated[str, typer.Option(metavar="ID", help="The font; else the template's own.")] = "",
    column: Columns = None,
    quantity: Quantity = 1,
    mend: Mend = False,
    encoding: Encoding = None,
    delimiter: Delimiter = None,
    table_sheet: SheetName = None,
    all_sheets: AllSheets = False,
    apply: Annotated[bool, typer.Option("--apply", help="Write down what differs, without asking.")] = False,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Take a customer's table into the ledger; or, if the order is known, say what a new table would change.

    The same table twice changes nothing. What was approved or made is never changed by a table.
    """
    from render.model import Severity
    from render.pipeline import Workshop
    from render.pipeline.ordertelling import taken_values
    from render.pipeline.taking import Wanted, take_in
    from render.shop.settings import read_settings

    id_ = order or order_id(table.stem)
    found = order_from(
        table, column, mend, table_sheet, all_sheets,
        quantity=quantity, encoding=encoding, delimiter=delimiter, name=id_,
    )  # fmt: skip
    with open_shop_ledger(shop) as (folder, ledger):
        settings = read_settings(folder)
        workshop, wanted = Workshop.open(folder), Wanted(template, blank, machine, font)
        about = _about(customer, due, price, settings.currency)

        def take(apply: bool) -> Taken:
            return take_in(
                ledger, id_, found, table.name, workshop, wanted, about, settings=settings, apply=apply
            )  # fmt: skip

        taken = take(apply)
        if not as_json:
            tell_problems(found.problems)
            _tell_taken(taken)
        if taken.differs and not taken.applied and not as_json and confirmed("Write this down?"):
            taken = take(True)
            console().print("Written down.")
    if as_json:
        print_json(taken_values(taken))
    stopped = any(p.severity is Severity.STOP for p in found.problems)
    if stopped or (taken.differs and not taken.applied):
        raise typer.Exit(1)


def order_id(stem: str) -> str:
    """An order's id made of a file's name: small letters, digits, hyphens.

    >>> order_id("Gäste Lindqvist (2)")
    'gaste-lindqvist-2'
    """
    plain = unicodedata.normalize("NFKD", stem).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:60].strip("-") or "order"


def _about(customer: str | None, due: str | None, price: str, code: str) -> About:
    from render.shop.ledger import About
    from render.shop.prices.money import currency

    try:
        day = date.fromisoformat(due).isoformat() if due else due
    except ValueError as error:
        raise MonikerfError(f"--due {due!r} is not a day", hint="write it like 2026-06-19") from error
    if not price:
        return About(customer, day)
    money = currency(code)
    try:
        minor = money.minor(Decimal(price))
    except (InvalidOperation, ValueError, OverflowError) as error:
        raise MonikerfError(f"--price {price!r} is no amount", hint="write it like 245.50") from error
    if minor.denominator != 1 or not 0 <= minor < 10**15:
        hint = f"{code} has {money.exponent} decimals"
        raise MonikerfError(f"--price {price!r} is no amount of money", hint=hint)
    return About(customer, day, int(minor), code)


def _tell_taken(taken: Taken) -> None:
    from render.pipeline.ordertelling import taken_lines

    say = console()
    if taken.new:
        say.print(f"{taken.order}: {counted(taken.pieces, 'piece')} taken in", markup=False)
    elif not (taken.differs or taken.changes):
        say.print(f"{taken.order}: nothing is new; {counted(taken.pieces, 'piece')} as before", markup=False)
    else:
        for line in taken_lines(taken):
            say.print(printable(line), markup=False)
        if taken.applied:
            say.print("Written down.")
        elif taken.differs:
            say.print("Nothing was changed: --apply writes it down.")


def correct(
    order: OrderId,
    piece: Annotated[str, typer.Argument(metavar="PIECE", help="Its id, such as p012.")] = "",
    fields: Annotated[
        list[str] | None, typer.Argument(metavar="FIELD=TEXT", help='What it says now: name="Zoë Lind".')
    ] = None,
    as_wished: Annotated[
        bool,
        typer.Option("--as-wished", help="Take what the customer wrote in quotation marks as the name; for "
                     "a PIECE also without them."),
    ] = False,
    redraw: Annotated[
        bool, typer.Option("--redraw", help="Only draw it anew, as template and font are now.")
    ] = False,
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:  # fmt: skip
    """Correct a piece: it gets a new version, and must be shown to the customer again."""
    changes = fields_in(fields or [])
    if sum((bool(changes), as_wished, redraw)) != 1:
        hint = 'write name="Zoë Lind", or --as-wished, or --redraw'
        raise MonikerfError("it is not said what is to be corrected", hint=hint)
    if "name" in changes and not changes["name"].strip():
        hint = (
            'write name="Zoë Lind"; who is not to come at all is taken out of the table: monikerf take-order'
        )
        raise MonikerfError("the name would be empty", hint=hint)
    with open_shop_ledger(shop) as (folder, ledger):
        left: tuple[LedgerPiece, ...] = ()
        if as_wished:
            from render.pipeline import Workshop
            from render.pipeline.correcting import correct_as_wished

            template = Workshop.open(folder).job(ledger.order(order).terms.template).template
            looks = (*template.fields, *template.optional_fields)
            done, left = correct_as_wished(ledger, order, (piece,) if piece else (), looks)
        elif piece:
            done = (ledger.correct(order, piece, changes),)
        elif redraw:
            from render.shop.ledger import State

            waiting = ledger.pieces(order, State.PROOFED, State.APPROVED)
            done = tuple(ledger.correct(order, p.id, {}) for p in waiting if not p.load)
        else:
            raise MonikerfError("it is not said which piece", hint="name it after the order: p012")
    if as_json:
        print_json({"corrected": [piece_values(p) for p in done], "left": [piece_values(p) for p in left]})
        return
    say = console()
    for each in done:
        say.print(f"{each.name}: {printable(each.title)}, to be shown again", markup=False)
    for each in left:
        say.print(f"{each.name}: read this yourself: {printable(each.wish)}", markup=False)
    if not done and not left:
        say.print("Nothing was to be corrected.")


def note(
    name: Annotated[str, typer.Argument(metavar="ORDER[/PIECE]", help="What the note belongs to.")],
    text: Annotated[str, typer.Argument(metavar="TEXT", help="The note.")],
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Write a note to an order or to a piece of it."""
    order, _, piece = name.partition("/")
    with open_shop_ledger(shop) as (_, ledger):
        ledger.note(order, piece or None, text)
    if as_json:
        print_json({"order": order, "piece": piece or None, "note": text})
    else:
        console().print(f"noted: {name}", markup=False)


def history(
    name: Annotated[
        str, typer.Argument(metavar="PIECE", help="A piece (ORDER/PIECE, or its id alone), or an order.")
    ],
    shop: Shop = None,
    as_json: AsJson = False,
) -> None:
    """Tell what happened to a piece, or to a whole order, from the first day on."""
    from render.pipeline.ordertelling import event_values, event_words, price_text, price_values

    with open_shop_ledger(shop) as (_, ledger):
        whole = name in ledger.order_ids()
        known = ledger.order(name) if whole else None
        found = ledger.find(name)
        if len(found) > 1 and not whole:
            names = ", ".join(p.name for p in found)
            raise MonikerfError(f"several orders have a piece {name}", hint=f"say which: {names}")
        piece = None if whole else found[0]
        events = ledger.history(name) if piece is None else ledger.history(piece.order, piece.id)
    if as_json:
        print_json({
            "name": name if piece is None else piece.name,
            "piece": piece_values(piece) if piece else None,
            **({"customer": known.customer or None, "due": known.due or None,
                "price": price_values(known.price, known.currency)} if known else {}),
            "events": [event_values(e) for e in events],
        })  # fmt: skip
        return
    say = console()
    if piece is not None:
        say.print(f"{piece.name}: {printable(piece.title)}, {piece.state}", markup=False, style="bold")
    if known is not None:
        price = price_text(known.price, known.currency)
        about = (printable(known.customer), known.due and f"due {known.due}", price and f"agreed: {price}")
        say.print(f"{known.id}: {', '.join(filter(None, about))}".rstrip(": "), markup=False, style="bold")
    for event in events:
        who = f"{event.piece or 'order'}: " if piece is None else ""
        told = printable(event_words(event).replace("\u00a0", " "))
        say.print(f"{event.at}  {who}{told}", markup=False)


def today(shop: Shop = None, as_json: AsJson = False) -> None:
    """What the day asks for: due, waiting for an answer, ready to make, to make again, to pack."""
    from render.pipeline.ordertelling import price_text, price_values
    from render.pipeline.today import today as ask

    with open_shop_ledger(shop) as (_, ledger):
        asked = ask(ledger)
    if as_json:
        print_json({
            "date": asked.date,
            "due": [{"order": o.id, "customer": o.customer, "due": o.due, "late": o.due < asked.date,
                     "price": price_values(o.price, o.currency), "pieces": counts}
                    for o, counts in asked.due],
            "tasks": [{"task": t.key, "title": t.title, "command": t.command,
                       "pieces": [piece_values(p) for p in t.pieces]} for t in asked.tasks],
            "loads": [{"load": each.id, "file": each.file, "machine": each.machine,
                       "pieces": len(each.places)} for each in asked.loads],
        })  # fmt: skip
        return
    say = console()
    for order, counts in asked.due:
        told = ", ".join(f"{n} {state}" for state, n in counts.items())
        late = (
            "LATE, was due" if order.due < asked.date else "today, due" if order.due == asked.date else "due"
        )
        price = price_text(order.price, order.currency)
        who = f" ({printable(order.customer)})" if order.customer else ""
        agreed = f", {price}" if price else ""
        say.print(f"{late} {order.due}: {order.id}{who}: {told}{agreed}", markup=False, style="bold")
    for task in asked.tasks:
        say.print(f"{len(task.pieces)} {task.title} ({task.command}): {_by_order(task.pieces)}", markup=False)
        if task.key in ("correct", "held"):
            for piece in task.pieces[:20]:
                said = piece.wish if task.key == "correct" else piece.held
                say.print(f"    {piece.name}, {printable(piece.title)}: {printable(said)}", markup=False)
    for load in asked.loads if len(asked.loads) <= 6 else (asked.loads[0], asked.loads[-1]):
        say.print(
            f"load {load.id}, {counted(len(load.places), 'piece')} on {load.machine}: {load.file}",
            markup=False,
        )
    if len(asked.loads) > 6:
        say.print(f"and {len(asked.loads) - 2} loads between them")
    if not (asked.due or asked.tasks):
        say.print("Nothing waits.")


def _by_order(pieces: Iterable[LedgerPiece]) -> str:
    counts: dict[str, int] = {}
    for piece in pieces:
        counts[piece.order] = counts.get(piece.order, 0) + 1
    return ", ".join(f"{order} {count}" for order, count in counts.items())


def piece_values(piece: LedgerPiece) -> dict[str, Any]:
    """A piece as plain values."""
    return {
        "order": piece.order,
        "piece": piece.id,
        "row": piece.row,
        "text": piece.title,
        "fields": dict(piece.fields),
        "state": str(piece.state),
        "version": piece.version or None,
        "digest": piece.digest or None,
        "approved": piece.approved or None,
        "held": piece.held or None,
        "wish": piece.wish or None,
        "load": piece.load or None,
    }


def all_pieces(ledger: Ledger, order: str) -> list[dict[str, Any]]:
    """The pieces of an order as plain values."""
    return [piece_values(piece) for piece in ledger.pieces(order)]
