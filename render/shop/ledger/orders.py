"""Orders and their pieces: taken in, compared with a corrected table, corrected by hand."""

from __future__ import annotations

import difflib
import json
import re
import sqlite3
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import asdict, replace
from typing import Any, Final

from render.model import Piece, Problem, Severity
from render.shop.ledger.differences import pair_up
from render.shop.ledger.states import SETTLED, State, check_move
from render.shop.ledger.store import LedgerError, Store, to_json
from render.shop.ledger.values import About, Change, LedgerOrder, LedgerPiece, RowChange, Taken, Terms

_ORDER_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,59}\Z")

_PIECES: Final = """SELECT p.*, COALESCE(a.digest, '') AS digest FROM pieces AS p
    LEFT JOIN artworks AS a ON a.order_id = p.order_id AND a.piece_id = p.id AND a.version = p.version
    WHERE p.order_id = ?"""


class Orders(Store):
    """What customers asked for."""

    def order_ids(self) -> tuple[str, ...]:
        """All orders, the oldest first."""
        return tuple(row["id"] for row in self.rows("SELECT id FROM orders ORDER BY taken_at, id"))

    def order(self, order: str) -> LedgerOrder:
        """One order.

        Raises:
            LedgerError: there is none of that id.
        """
        row = self.one("SELECT * FROM orders WHERE id = ?", order)
        if row is None:
            known = self.order_ids()
            near = difflib.get_close_matches(order, known, n=1)
            hint = f"did you mean {near[0]}?" if near else f"the ledger has {', '.join(known) or 'none yet'}"
            raise LedgerError(f"there is no order {order}", hint=hint)
        terms = Terms(row["template"], row["blank"], row["machine"], row["font"])
        return LedgerOrder(
            id=row["id"],
            terms=terms,
            customer=row["customer"],
            due=row["due"],
            table=row["table_name"],
            price=row["price_minor"],
            currency=row["currency"],
            taken_at=row["taken_at"],
            problems=tuple(_problem(values) for values in json.loads(row["problems"])),
        )

    def pieces(self, order: str, *states: State) -> tuple[LedgerPiece, ...]:
        """The pieces of an order in the order of its table: those in one of the states, or all but the gone.

        Raises:
            LedgerError: there is no such order.
        """
        self.order(order)
        found = [piece_of(row) for row in self.rows(f"{_PIECES} ORDER BY p.position, p.id", order)]
        return tuple(p for p in found if (p.state in states if states else p.state is not State.GONE))

    def piece(self, order: str, piece: str) -> LedgerPiece:
        """One piece, also one that is gone.

        Raises:
            LedgerError: there is no such order or piece.
        """
        self.order(order)
        row = self.one(f"{_PIECES} AND p.id = ?", order, piece)
        if row is None:
            raise LedgerError(f"order {order} has no piece {piece}", hint=f"see monikerf history {order}")
        return piece_of(row)

    def take(
        self,
        order: str,
        terms: Terms,
        pieces: Sequence[Piece],
        *,
        table: str = "",
        problems: Sequence[Problem] = (),
        about: About | None = None,
        drawn: Collection[str] | None = None,
        apply: bool = False,
    ) -> Taken:
        """Take a table in. A new order is written down; of a known one only what differs, and only if asked.

        The same table again changes nothing. Pieces that were approved or made keep their looks, whatever the
        table says: the answer names them, and a person corrects them one by one. Fields that are not drawn
        (at which table somebody sits) may change at any time.

        Args:
            order: its id: small letters, digits, hyphens.
            terms: what is made of the names.
            pieces: those of the table, with the table's ids.
            table: name of the file, for the record.
            problems: what its reading brought to light.
            about: what else is known; it is written down at once.
            drawn: the fields that decide how a piece looks; None: all.
            apply: whether to write down what differs.

        Raises:
            LedgerError: the id is not one, or nothing can be written.
        """
        if not _ORDER_ID.match(order):
            raise LedgerError(
                f"{order!r} cannot be the id of an order",
                hint="use small letters, digits and hyphens, such as old-ropewalk-june",
            )
        with self.atomic():
            new = self.one("SELECT id FROM orders WHERE id = ?", order) is None
            if new:
                self._begin_order(order, terms, table)
            known = self.order(order)
            changes, ids = self._compare(order, pieces, drawn)
            changed_terms = tuple(
                (key, before, after)
                for (key, before), after in zip(
                    asdict(known.terms).items(), asdict(terms).values(), strict=True
                )
                if before != after
            )
            taken = Taken(order, new, changes, changed_terms, len(pieces), False, ids)
            self._tell_about(known, about or About())
            if not (new or (apply and taken.differs)):
                return taken
            self._set_terms(order, taken, terms)
            self._apply(order, pieces, taken, problems)
            return replace(taken, applied=True)

    def _begin_order(self, order: str, terms: Terms, table: str) -> None:
        self.write(
            "INSERT INTO orders (id, template, blank, machine, font, table_name, taken_at)"
            " VALUES (?, ?, ?, ?, ?, ?, ?)",
            *(order, terms.template, terms.blank, terms.machine, terms.font, table, self.now),
        )
        self.happened(order, None, "taken in", table=table, **asdict(terms))

    def _tell_about(self, known: LedgerOrder, about: About) -> None:
        said: dict[str, Any] = {}
        if about.customer is not None and about.customer != known.customer:
            said["customer"] = about.customer
        if about.due is not None and about.due != known.due:
            said["due"] = about.due
        if about.price is not None and (about.price, about.currency) != (known.price, known.currency):
            said |= {"price_minor": about.price, "currency": about.currency}
        for column, value in said.items():
            if column == "currency":
                continue
            if column == "price_minor":
                sql = "UPDATE orders SET price_minor = ?, currency = ? WHERE id = ?"
                self.write(sql, value, said["currency"], known.id)
            else:
                self.write(f"UPDATE orders SET {column} = ? WHERE id = ?", value, known.id)  # noqa: S608
        if said:
            self.happened(known.id, None, "told", **said)

    def agree(self, order: str, price: int, currency: str) -> None:
        """Write down what the customer agreed to pay, minor units of a currency (ISO 4217), tax and all.

        Raises:
            LedgerError: there is no such order, or nothing can be written.
        """
        with self.atomic():
            self._tell_about(self.order(order), About(price=price, currency=currency))

    def _set_terms(self, order: str, taken: Taken, terms: Terms) -> None:
        if taken.terms:
            self.write(
                "UPDATE orders SET template = ?, blank = ?, machine = ?, font = ? WHERE id = ?",
                *(terms.template, terms.blank, terms.machine, terms.font, order),
            )
            self.happened(order, None, "terms changed", **{key: [a, b] for key, a, b in taken.terms})

    def _compare(
        self, order: str, pieces: Sequence[Piece], drawn: Collection[str] | None
    ) -> tuple[tuple[RowChange, ...], Mapping[str, str]]:
        """What differs, and the ledger's id for each piece of the table."""
        every = [piece_of(row) for row in self.rows(f"{_PIECES} ORDER BY p.position, p.id", order)]
        old = [piece for piece in every if piece.state is not State.GONE]
        free = _FreeIds(piece.id for piece in every)
        changes: list[RowChange] = []
        ids: dict[str, str] = {}
        for a, b in pair_up([p.fields for p in old], [p.fields for p in pieces]):
            was, now = (None if a is None else old[a]), (None if b is None else pieces[b])
            if was is None and now is not None:
                ids[now.id] = free.take(now.id)
                changes.append(RowChange(Change.NEW, ids[now.id], now.row, {}, now.fields))
            elif was is not None:
                kept = _why_kept(was)
                if now is None:
                    change = RowChange(Change.GONE, was.id, was.row, was.fields, {}, was.state, kept)
                    changes.append(change)
                    continue
                ids[now.id] = was.id
                if dict(was.fields) != dict(now.fields):
                    change = RowChange(Change.CHANGED, was.id, now.row, was.fields, now.fields, was.state)
                    alike = drawn is not None and not set(change.fields) & set(drawn)
                    changes.append(
                        change if not kept else replace(change, alike=alike, kept="" if alike else kept)
                    )
        return tuple(changes), ids

    def _apply(self, order: str, pieces: Sequence[Piece], taken: Taken, problems: Sequence[Problem]) -> None:
        """Write down what differs."""
        new = [c for c in taken.changes if c.kind is Change.NEW]
        self.write_many(
            "INSERT INTO pieces (order_id, id, position, row, fields, state) VALUES (?, ?, 0, ?, ?, ?)",
            [(order, c.piece, c.row, to_json(dict(c.after)), State.DRAFTED) for c in new],
        )
        at = self.now
        self.write_many(
            "INSERT INTO events (at, order_id, piece_id, kind, detail) VALUES (?, ?, ?, ?, ?)",
            [(at, order, c.piece, "taken in", to_json({"fields": dict(c.after), "row": c.row})) for c in new],
        )
        for change in taken.changes:
            if change.kept or change.kind is Change.NEW:
                continue
            if change.alike:
                self._redirect(self.piece(order, change.piece), change.after)
            elif change.kind is Change.GONE:
                self.move(self.piece(order, change.piece), State.GONE, "row gone")
            else:
                self._rewrite(self.piece(order, change.piece), change.after, "row changed")
        self.write_many(
            "UPDATE pieces SET position = ?, row = ? WHERE order_id = ? AND id = ?",
            [(n, piece.row, order, taken.ids[piece.id]) for n, piece in enumerate(pieces)],
        )
        told = [asdict(replace(p, piece=taken.ids.get(p.piece, p.piece))) for p in problems]
        self.write("UPDATE orders SET problems = ? WHERE id = ?", to_json(told), order)

    def correct(self, order: str, piece: str, fields: Mapping[str, str], *, why: str = "") -> LedgerPiece:
        """Change a piece's fields, whatever has become of it: it is drafted again and must be shown again.

        Without fields it is only drafted anew, such as after its template was changed.

        Raises:
            LedgerError: there is no such piece or field.
            WrongMoveError: it lies on a load, is packed or gone.
        """
        with self.atomic():
            known = self.piece(order, piece)
            unknown = [name for name in fields if name not in known.fields]
            if unknown:
                hint = f"it has {', '.join(known.fields)}"
                raise LedgerError(f"{known.name} has no field {unknown[0]}", hint=hint)
            after = {**known.fields, **fields}
            if known.state is State.DRAFTED and after == dict(known.fields) and not known.wish:
                return known
            if known.load:
                hint = f"mark load {known.load} first: monikerf made {known.load}, or drop it with --drop"
                raise LedgerError(f"{known.name} lies on load {known.load}", hint=hint)
            self._rewrite(known, after, "corrected", why=why)
            return self.piece(order, piece)

    def _rewrite(self, piece: LedgerPiece, after: Mapping[str, str], kind: str, **detail: str) -> None:
        """New fields for a piece, which makes it a draft."""
        changed = {k: [v, after.get(k, "")] for k, v in piece.fields.items() if after.get(k, "") != v}
        changed |= {k: ["", v] for k, v in after.items() if k not in piece.fields}
        said = {k: v for k, v in detail.items() if v}
        if piece.wish:
            said["wish"] = piece.wish
        if piece.state is State.DRAFTED:
            self.happened(piece.order, piece.id, kind, changed=changed, **said)
        else:
            self.move(piece, State.DRAFTED, kind, changed=changed, **said)
        self.write(
            "UPDATE pieces SET fields = ?, wish = '', held = '', approved = '' WHERE order_id = ? AND id = ?",
            *(to_json(dict(after)), piece.order, piece.id),
        )

    def _redirect(self, piece: LedgerPiece, after: Mapping[str, str]) -> None:
        """New fields for a piece that will look the same."""
        changed = {k: [piece.fields.get(k, ""), v] for k, v in after.items() if piece.fields.get(k, "") != v}
        self.happened(piece.order, piece.id, "row changed", changed=changed, looks="the same")
        sql = "UPDATE pieces SET fields = ? WHERE order_id = ? AND id = ?"
        self.write(sql, to_json(dict(after)), piece.order, piece.id)

    def move(self, piece: LedgerPiece, to: State, kind: str, **detail: Any) -> None:
        """Take a piece to another state, inside :meth:`atomic`, and append that to its history.

        Raises:
            WrongMoveError: it may not go there.
        """
        check_move(piece.name, piece.state, to)
        self.write("UPDATE pieces SET state = ? WHERE order_id = ? AND id = ?", *(to, piece.order, piece.id))
        self.happened(piece.order, piece.id, kind, was=piece.state, **detail)


def _why_kept(piece: LedgerPiece) -> str:
    """Why a table cannot change the piece."""
    if piece.state in SETTLED:
        return f"it is {piece.state}: change it with monikerf correct"
    return f"it lies on load {piece.load}" if piece.load else ""


def piece_of(row: sqlite3.Row) -> LedgerPiece:
    """The piece in a row of the ledger that also has the digest of its newest artwork."""
    return LedgerPiece(
        order=row["order_id"],
        id=row["id"],
        row=row["row"],
        fields=json.loads(row["fields"]),
        state=State(row["state"]),
        version=row["version"] or 0,
        digest=row["digest"],
        approved=row["approved"],
        held=row["held"],
        wish=row["wish"],
        load=row["load_id"] or 0,
    )


def _problem(values: Mapping[str, Any]) -> Problem:
    return Problem(**{**values, "severity": Severity(values["severity"])})


class _FreeIds:
    """Ids for new pieces: the table's own where it is free, else the next number."""

    def __init__(self, used: Iterable[str]) -> None:
        self._used = set(used)
        numbers = [int(m[1]) for id_ in self._used if (m := re.match(r"p(\d+)", id_))]
        self._last = max(numbers, default=0)

    def take(self, wanted: str) -> str:
        if wanted in self._used:
            self._last += 1
            wanted = f"p{self._last:03d}"
        self._used.add(wanted)
        if match := re.match(r"p(\d+)", wanted):
            self._last = max(self._last, int(match[1]))
        return wanted
