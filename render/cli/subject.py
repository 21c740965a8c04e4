"""What a command is about: a table of the customer's, or an order that the ledger has already."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Final

from render.cli.asking import open_shop_ledger
from render.errors import MonikerfError

if TYPE_CHECKING:
    from render.model import Order
    from render.shop.ledger import LedgerOrder, LedgerPiece

WHAT: Final = "ORDER|TABLE"
"""How it stands in the help."""


@dataclass(frozen=True, slots=True)
class Subject:
    """An order's pieces and problems, and where they come from.

    Attributes:
        order: with the table's problems; of a ledger's order the pieces as they are now, corrected.
        known: what the ledger knows of it; None for a table.
        rows: its pieces in the ledger.
        pins: sizes of sets of which some are approved, mm by slot.
    """

    order: Order
    known: LedgerOrder | None = None
    rows: tuple[LedgerPiece, ...] = ()
    pins: Mapping[str, float] = field(default_factory=dict)


def subject_of(
    what: str,
    shop: Path | None,
    columns: Sequence[str] | None = None,
    mend: bool = False,
    sheet: str | None = None,
    all_sheets: bool = False,
    *,
    quantity: int = 1,
    encoding: str | None = None,
    delimiter: str | None = None,
) -> Subject:
    """Read the table if there is a file of that name, else take the order out of the ledger.

    Raises:
        MonikerfError: there is neither, the table cannot be read with certainty, or an option that is about
            tables was given for an order.
    """
    from render.cli.options import order_from

    table = Path(what)
    if table.is_file() or table.suffix or len(table.parts) > 1:
        return Subject(
            order_from(
                table, columns, mend, sheet, all_sheets,
                quantity=quantity, encoding=encoding, delimiter=delimiter,
            )
        )  # fmt: skip
    if shop is None:
        hint = "write the table's whole name, or name the shop folder whose order it is with --shop"
        raise MonikerfError(f"there is no table {what}, and no shop that could know such an order", hint=hint)
    refuse_for_order(what, {
        "--column": columns, "--quantity": quantity != 1, "--mend": mend, "--encoding": encoding,
        "--delimiter": delimiter, "--table-sheet": sheet, "--all-sheets": all_sheets,
    })  # fmt: skip
    return _of_ledger(what, shop)


def refuse_for_order(order: str, options: Mapping[str, object]) -> None:
    """See that none of the options that are about tables was given for an order of the ledger.

    Args:
        order: its id.
        options: what was given, by option; what is empty or false was not.

    Raises:
        MonikerfError: one was; with its name.
    """
    for option, value in options.items():
        if value:
            raise MonikerfError(
                f"{option} is about tables, and {order} is an order of the ledger", hint="leave it out"
            )


def _of_ledger(id_: str, shop: Path) -> Subject:
    from render.model import Order

    with open_shop_ledger(shop) as (_, ledger):
        known = ledger.order(id_)
        rows = ledger.pieces(id_)
        order = Order(id_, tuple(row.as_piece() for row in rows), known.problems)
        return Subject(order, known, rows, ledger.pins(id_))
