"""What the ledger can tell: the history of a piece, what the day asks for, whether all is well."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator

from render.shop.ledger.loads import Loads
from render.shop.ledger.states import State
from render.shop.ledger.store import LedgerError
from render.shop.ledger.values import Event, LedgerPiece


class Telling(Loads):
    """History, notes, and checks."""

    def find(self, name: str) -> tuple[LedgerPiece, ...]:
        """The pieces that a person may mean: ``order/piece``, an id alone, or an order's id (all its pieces).

        Raises:
            LedgerError: there is none.
        """
        order, slash, piece = name.partition("/")
        if slash:
            return (self.piece(order, piece),)
        if self.one("SELECT 1 FROM orders WHERE id = ?", name):
            return self.pieces(name, *State)
        rows = self.rows("SELECT order_id FROM pieces WHERE id = ? ORDER BY order_id", name)
        if not rows:
            raise LedgerError(f"there is no order or piece {name}", hint="write a piece as order/piece")
        return tuple(self.piece(row["order_id"], name) for row in rows)

    def history(self, order: str, piece: str | None = None) -> tuple[Event, ...]:
        """Everything that happened to a piece, or to an order and all its pieces, in order."""
        if piece is None:
            found = self.rows("SELECT * FROM events WHERE order_id = ? ORDER BY id", order)
        else:
            sql = "SELECT * FROM events WHERE order_id = ? AND piece_id = ? ORDER BY id"
            found = self.rows(sql, order, piece)
        return tuple(_event(row) for row in found)

    def last_event(self) -> int:
        """The number of what happened last; 0 if nothing has."""
        row = self.one("SELECT COALESCE(MAX(id), 0) AS n FROM events")
        return int(row["n"]) if row else 0

    def note(self, order: str, piece: str | None, text: str) -> None:
        """Write a note to an order or a piece of it.

        Raises:
            LedgerError: there is no such order or piece, or the note is empty.
        """
        if not text.strip():
            raise LedgerError("the note is empty", hint="write it in quotation marks")
        with self.atomic():
            self.order(order)
            if piece is not None:
                self.piece(order, piece)
            sql = "INSERT INTO notes (order_id, piece_id, text, noted_at) VALUES (?, ?, ?, ?)"
            self.write(sql, order, piece, text, self.now)
            self.happened(order, piece, "noted", text=text)

    def check(self) -> Iterator[str]:
        """Everything that is wrong with the ledger itself: none in a sound one.

        SQLite's own checks; every artwork, unpacked, against its digest; every state against what it rests
        on.
        """
        yield from (r[0] for r in self.rows("PRAGMA integrity_check") if r[0] != "ok")
        for row in self.rows("PRAGMA foreign_key_check"):
            yield f"{row['table']}, row {row['rowid']}: speaks of a {row['parent']} that is not there"
        for row in self.rows("SELECT order_id, piece_id, version, digest FROM artworks"):
            yield from self._check_artwork(row)
        for row in self.rows(_TORN):
            yield f"{row['order_id']}/{row['id']} is {row['state']}, but {row['what']}"

    def _check_artwork(self, row: sqlite3.Row) -> Iterator[str]:
        name = f"{row['order_id']}/{row['piece_id']}, version {row['version']}"
        try:
            kept = self.version(row["order_id"], row["piece_id"], row["version"])
        except LedgerError as error:
            yield f"{name}: {error.message}"
            return
        if kept.artwork.digest() != row["digest"]:
            yield f"{name}: its geometry does not have the digest that was written down"


_TORN = """
SELECT p.order_id, p.id, p.state, 'what was approved is not its newest artwork' AS what
    FROM pieces AS p LEFT JOIN artworks AS a
    ON a.order_id = p.order_id AND a.piece_id = p.id AND a.version = p.version
    WHERE p.state IN ('approved', 'made', 'failed', 'packed') AND p.approved IS NOT a.digest
UNION ALL
SELECT p.order_id, p.id, p.state, 'lies on load ' || p.load_id || ', which is not open'
    FROM pieces AS p JOIN loads AS l ON l.id = p.load_id WHERE l.state <> 'open'
UNION ALL
SELECT p.order_id, p.id, p.state, 'nothing tells how it came to be so'
    FROM pieces AS p WHERE NOT EXISTS
    (SELECT 1 FROM events AS e WHERE e.order_id = p.order_id AND e.piece_id = p.id)
"""
"""Pieces that contradict themselves."""


def _event(row: sqlite3.Row) -> Event:
    detail = json.loads(row["detail"])
    return Event(row["id"], row["at"], row["order_id"], row["piece_id"] or "", row["kind"], detail)
