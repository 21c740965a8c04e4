"""Orders taken at the stall, as the ledger has them: one piece each, numbered by the day."""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Final

from render.shop.ledger.states import State
from render.shop.ledger.store import LedgerError
from render.shop.ledger.telling import Telling
from render.shop.ledger.values import Place

PIECE: Final = "p1"
"""Id of the one piece of an order from the stall."""

STALL: Final = "stall"
"""Under this name the history keeps what concerns no order: what was paused, what was put out again."""

_KEY: Final = re.compile(r"[0-9a-f]{32}\Z")
_TABLE: Final = re.compile(r"stall ([a-z0-9-]+) ([0-9a-f]{32})\Z")


@dataclass(frozen=True, slots=True)
class StallOrder:
    """One order from the stall.

    Attributes:
        number: what the customer picks it up with.
        thing: id of the thing in the stall's file.
        key: what the customer's page called it: the same key is the same order.
        load: the open load it lies on; 0 if none.
        spoilt: how many blanks failed for it.
        price: in whole minor units.
    """

    order: str
    number: int
    thing: str
    key: str
    state: State
    fields: Mapping[str, str]
    font: str
    blank: str
    machine: str
    load: int
    spoilt: int
    price: int
    currency: str
    taken_at: str


def is_key(text: str) -> bool:
    """Whether a page could have made this key: 32 hexadecimal digits."""
    return _KEY.match(text) is not None


def day_of(now: str) -> str:
    """The day in the ids of orders: ``20260614``."""
    return now[:10].replace("-", "")


def order_id(day: str, number: int) -> str:
    """Id of an order, such as ``stall-20260614-017``."""
    return f"{STALL}-{day}-{number:03d}"


def table_name(thing: str, key: str) -> str:
    """What stands in the ledger where other orders name their table."""
    return f"stall {thing} {key}"


_ORDERS: Final = """SELECT o.id, o.table_name, o.font, o.blank, o.machine, o.price_minor, o.currency,
    o.taken_at, p.state, p.fields, COALESCE(p.load_id, 0) AS load_id,
    (SELECT COUNT(*) FILTER (WHERE e.kind IN ('failed', 'failed again'))
        - COUNT(*) FILTER (WHERE e.kind = 'failed, taken back')
        FROM events AS e WHERE e.order_id = o.id) AS spoilt
    FROM orders AS o JOIN pieces AS p ON p.order_id = o.id
    WHERE o.id >= ? AND o.id < ? ORDER BY o.taken_at, length(o.id), o.id"""


def stall_orders(ledger: Telling, day: str) -> tuple[StallOrder, ...]:
    """The orders of a day, the first first."""
    found = []
    for row in ledger.rows(_ORDERS, f"{STALL}-{day}-", f"{STALL}-{day}-:"):
        told = _TABLE.match(row["table_name"])
        if told is None:
            continue
        found.append(
            StallOrder(
                order=row["id"],
                number=int(row["id"].rsplit("-", 1)[1]),
                thing=told[1],
                key=told[2],
                state=State(row["state"]),
                fields=json.loads(row["fields"]),
                font=row["font"],
                blank=row["blank"],
                machine=row["machine"],
                load=row["load_id"],
                spoilt=row["spoilt"],
                price=row["price_minor"] or 0,
                currency=row["currency"],
                taken_at=row["taken_at"],
            )
        )
    return tuple(sorted(found, key=lambda each: each.number))


def find_key(ledger: Telling, key: str) -> tuple[str, str] | None:
    """Id and thing of the order that a page has sent under this key, on whatever day; None if none was."""
    row = ledger.one("SELECT id, table_name FROM orders WHERE table_name LIKE 'stall %' || ?", key)
    told = _TABLE.match(row["table_name"]) if row else None
    return (row["id"], told[1]) if row and told else None


def take_outcomes_back(ledger: Telling, load: int, places: Collection[int]) -> None:
    """Unsay what was said of places of a load: their pieces lie on it again, and it is open again.

    Raises:
        LedgerError: nothing was said of one of the places, or its piece has gone on since.
    """
    with ledger.atomic():
        for place in ledger.load(load).places:
            if place.place in places:
                _take_back(ledger, load, place)
        ledger.write("UPDATE loads SET state = 'open' WHERE id = ? AND state = 'done'", load)


def _take_back(ledger: Telling, load: int, place: Place) -> None:
    piece = ledger.piece(place.order, place.piece)
    row = ledger.one(
        "SELECT id FROM outcomes WHERE load_id = ? AND place = ? ORDER BY id DESC LIMIT 1", load, place.place
    )
    if row is None or piece.load or piece.state != place.result:
        raise LedgerError(f"{piece.name} has gone on since", hint="see its history")
    laid = [e for e in ledger.history(place.order, place.piece) if e.kind == "laid out"]
    remake = bool(laid and laid[-1].detail.get("load") == load and laid[-1].detail.get("remake"))
    ledger.write("DELETE FROM outcomes WHERE id = ?", row["id"])
    ledger.write(
        "UPDATE pieces SET state = ?, load_id = ? WHERE order_id = ? AND id = ?",
        *(State.FAILED if remake else State.APPROVED, load, piece.order, piece.id),
    )
    kind = f"{place.result}, taken back"
    ledger.happened(piece.order, piece.id, kind, was=piece.state, load=load, place=place.place)


def paused_things(ledger: Telling) -> frozenset[str]:
    """Things that the maker has taken off the table for now."""
    paused: set[str] = set()
    for event in ledger.history(STALL):
        thing = str(event.detail.get("thing", ""))
        (paused.add if event.kind == "paused" else paused.discard)(thing)
    return frozenset(paused)


def pause_thing(ledger: Telling, thing: str, *, paused: bool) -> None:
    """Take a thing off the table, or put it out again."""
    with ledger.atomic():
        ledger.happened(STALL, None, "paused" if paused else "put out again", thing=thing)
