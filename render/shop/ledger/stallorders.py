"""Orders taken at the stall, as the ledger has them: one piece each, numbered by the day."""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Any, Final

from render.shop.ledger.states import State
from render.shop.ledger.store import LedgerError, to_json
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
        spent: how many blanks were burned for it, well or not.
        price: in whole minor units.
    """

    order: str
    number: int
    thing: str
    key: str
    state: State
    fields: Mapping[str, str]
    template: str
    font: str
    blank: str
    machine: str
    load: int
    spent: int
    price: int
    currency: str
    taken_at: str


def is_key(text: str) -> bool:
    """Whether a page could have made this key: 32 hexadecimal digits."""
    return _KEY.match(text) is not None


def day_of(now: str, zone: tzinfo | None = None) -> str:
    """The day in the ids of orders, ``20260614``: that of the zone, or of this machine where there is none.

    Args:
        now: ISO 8601 in UTC, as the ledger has it.
        zone: of the stall.
    """
    return datetime.fromisoformat(now).astimezone(zone).strftime("%Y%m%d")


def order_id(day: str, number: int) -> str:
    """Id of an order, such as ``stall-20260614-017``."""
    return f"{STALL}-{day}-{number:03d}"


def table_name(thing: str, key: str) -> str:
    """What stands in the ledger where other orders name their table."""
    return f"stall {thing} {key}"


_ORDERS: Final = """SELECT o.id, o.table_name, o.template, o.font, o.blank, o.machine, o.price_minor,
    o.currency, o.taken_at, p.state, p.fields, COALESCE(p.load_id, 0) AS load_id,
    (SELECT COUNT(DISTINCT c.load_id || ' ' || c.place) FROM places AS l JOIN outcomes AS c
        ON c.load_id = l.load_id AND c.place = l.place WHERE l.order_id = o.id) AS spent
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
                template=row["template"],
                font=row["font"],
                blank=row["blank"],
                machine=row["machine"],
                load=row["load_id"],
                spent=row["spent"],
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
    if not place.result or piece.load or piece.state != place.result:
        raise LedgerError(f"{piece.name} has gone on since", hint="see its history")
    laid = [e for e in ledger.history(place.order, place.piece) if e.kind == "laid out"]
    remake = bool(laid and laid[-1].detail.get("load") == load and laid[-1].detail.get("remake"))
    ledger.write("DELETE FROM outcomes WHERE load_id = ? AND place = ?", load, place.place)
    ledger.write(
        "UPDATE pieces SET state = ?, load_id = ? WHERE order_id = ? AND id = ?",
        *(State.FAILED if remake else State.APPROVED, load, piece.order, piece.id),
    )
    kind = f"{place.result}, taken back"
    ledger.happened(piece.order, piece.id, kind, was=piece.state, load=load, place=place.place)


def take_load_up_again(ledger: Telling, load: int) -> None:
    """Have a load that was given up lie on the machine again, as it was.

    Raises:
        LedgerError: it was not given up, or one of its pieces has gone on since.
    """
    with ledger.atomic():
        known = ledger.load(load)
        if known.state != "dropped":
            raise LedgerError(f"load {load} was not given up", hint="see monikerf today")
        versions = {r["place"]: r["version"] for r in ledger.rows(_VERSIONS, load)}
        for place in known.places:
            piece = ledger.piece(place.order, place.piece)
            same = piece.version == versions[place.place] and piece.approved == piece.digest
            if piece.load or piece.state not in (State.APPROVED, State.FAILED) or not same:
                raise LedgerError(f"{piece.name} has gone on since", hint="see its history")
            sql = "UPDATE pieces SET load_id = ? WHERE order_id = ? AND id = ?"
            ledger.write(sql, load, piece.order, piece.id)
            again = piece.state is State.FAILED
            ledger.happened(piece.order, piece.id, "laid out", load=load, place=place.place, remake=again)
        ledger.write("UPDATE loads SET state = 'open' WHERE id = ?", load)


_VERSIONS: Final = "SELECT place, version FROM places WHERE load_id = ?"


def set_looks(ledger: Telling, order: str, template: str, font: str, fields: Mapping[str, str]) -> None:
    """Another template, font and other texts for an order, inside an atomic step.

    Texts that it had no field for, such as a second line, are added; those left out are taken away.
    """
    ledger.write("UPDATE orders SET template = ?, font = ? WHERE id = ?", template, font, order)
    piece = ledger.piece(order, PIECE)
    if dict(piece.fields) != dict(fields):
        names = {*piece.fields, *fields}
        changed = {n: [piece.fields.get(n, ""), fields.get(n, "")] for n in sorted(names)}
        sql = "UPDATE pieces SET fields = ? WHERE order_id = ? AND id = ?"
        ledger.write(sql, to_json(dict(fields)), order, PIECE)
        ledger.happened(
            order, PIECE, "row changed", changed={n: c for n, c in changed.items() if c[0] != c[1]}
        )


def remembered(ledger: Telling, order: StallOrder) -> dict[str, Any]:
    """What is needed to make an order again what it is now, after it was changed or cancelled."""
    piece = ledger.piece(order.order, PIECE)
    return {
        "order": order.order, "state": str(piece.state), "version": piece.version, "approved": piece.approved,
        "fields": dict(piece.fields), "template": order.template, "font": order.font,
    }  # fmt: skip


def restore(ledger: Telling, was: Mapping[str, Any], now: Mapping[str, Any]) -> None:
    """Make an order again what it was.

    Args:
        ledger: where it is.
        was: see :func:`remembered`.
        now: the state and version that it must still have.

    Raises:
        LedgerError: it has gone on since.
    """
    with ledger.atomic():
        piece = ledger.piece(was["order"], PIECE)
        if piece.load or piece.state != now["state"] or piece.version != now["version"]:
            raise LedgerError(f"{piece.name} has gone on since", hint="see its history")
        ledger.write(
            "UPDATE pieces SET state = ?, version = ?, approved = ?, wish = '', held = ''"
            " WHERE order_id = ? AND id = ?",
            *(was["state"], was["version"], was["approved"], piece.order, piece.id),
        )
        set_looks(ledger, piece.order, was["template"], was["font"], was["fields"])
        ledger.happened(piece.order, piece.id, "taken back", was=piece.state, state=was["state"],
                        version=was["version"])  # fmt: skip


def paused_things(ledger: Telling) -> frozenset[str]:
    """Things that the maker has taken off the table for now."""
    paused: set[str] = set()
    for row in ledger.rows(_PAUSES, STALL):
        thing = str(json.loads(row["detail"]).get("thing", ""))
        (paused.add if row["kind"] == "paused" else paused.discard)(thing)
    return frozenset(paused)


_PAUSES: Final = """SELECT kind, detail FROM events
    WHERE order_id = ? AND kind IN ('paused', 'put out again') ORDER BY id"""


def pause_thing(ledger: Telling, thing: str, *, paused: bool) -> None:
    """Take a thing off the table, or put it out again."""
    with ledger.atomic():
        ledger.happened(STALL, None, "paused" if paused else "put out again", thing=thing)


@dataclass(frozen=True, slots=True)
class Step:
    """Something that the maker did: what in words, which kind, and what taking it back needs."""

    id: int
    at: str
    what: str
    act: str
    detail: Mapping[str, Any]


def note_step(ledger: Telling, what: str, act: str, **detail: Any) -> None:
    """Remember a step, inside the atomic step that it is: it can be taken back even after a restart."""
    ledger.happened(STALL, None, "step", what=what, act=act, **detail)


def settle_step(ledger: Telling, step: Step, *, back: bool) -> None:
    """Say that a step was taken back, or cannot be any more."""
    with ledger.atomic():
        ledger.happened(STALL, None, "step back" if back else "step stays", step=step.id)


_STEP: Final = """SELECT id, at, detail FROM events AS e WHERE order_id = ? AND kind = 'step' AND NOT EXISTS
    (SELECT 1 FROM events AS b WHERE b.order_id = e.order_id AND b.id > e.id
        AND b.kind IN ('step back', 'step stays') AND json_extract(b.detail, '$.step') = e.id)
    ORDER BY id DESC LIMIT 1"""


def last_step(ledger: Telling) -> Step | None:
    """The last step that was neither taken back nor settled."""
    row = ledger.one(_STEP, STALL)
    if row is None:
        return None
    detail = json.loads(row["detail"])
    return Step(row["id"], row["at"], detail["what"], detail["act"], detail)
