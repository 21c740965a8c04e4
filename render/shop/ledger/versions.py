"""Artworks: every version that a piece has had, and all that decided how it looks."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from render.shop.ledger.orders import Orders
from render.shop.ledger.packed import pack_artwork, pack_pieces, unpack_artwork, unpack_pieces
from render.shop.ledger.states import UNSETTLED, State
from render.shop.ledger.store import LedgerError, to_json
from render.shop.ledger.values import Drawn, LedgerPiece, Making, Terms, Version
from render.units import UM_PER_MM


class Versions(Orders):
    """What pieces look like."""

    def keep_artworks(
        self, order: str, making: Making, drawn: Sequence[Drawn], held: Mapping[str, str], *, why: str = ""
    ) -> None:
        """Write down new artworks, and why other pieces of the making cannot be made.

        An artwork equal to its piece's newest is not written again. A piece whose artwork differs from what
        was shown becomes a draft again.

        Raises:
            LedgerError: one of the pieces has been approved, made or changed meanwhile; nothing is written.
        """
        with self.atomic():
            texts = {piece.id: dict(piece.fields) for piece in making.pieces}
            number = self._keep_making(order, making) if drawn else 0
            for each in drawn:
                piece = self.piece(order, each.artwork.piece)
                if piece.state not in UNSETTLED or dict(piece.fields) != texts.get(piece.id):
                    raise LedgerError(
                        f"{piece.name} was changed by another Monikerf meanwhile", hint="do it again"
                    )
                self._keep_artwork(piece, number, making.terms, each, why)
            for id_, reason in held.items():
                piece = self.piece(order, id_)
                if piece.held != reason and piece.state in UNSETTLED:
                    self._hold(piece, reason)

    def _hold(self, piece: LedgerPiece, reason: str) -> None:
        sql = "UPDATE pieces SET held = ? WHERE order_id = ? AND id = ?"
        self.write(sql, reason, piece.order, piece.id)
        self.happened(piece.order, piece.id, "held back", reason=reason)

    def _keep_making(self, order: str, making: Making) -> int:
        texts = pack_pieces(making.pieces)
        terms = asdict(making.terms)
        pins, sizes = to_json(dict(making.pins)), to_json(dict(making.sizes))
        key = hashlib.sha256("\0".join([to_json(terms), pins, sizes]).encode() + texts).hexdigest()
        row = self.one("SELECT id FROM makings WHERE order_id = ? AND key = ?", order, key)
        if row is not None:
            return int(row["id"])
        return self.write(
            "INSERT INTO makings (order_id, key, template, blank, machine, font, pins, sizes, texts, made_at)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            *(order, key, *terms.values(), pins, sizes, texts, self.now),
        )

    def _keep_artwork(self, piece: LedgerPiece, making: int, terms: Terms, drawn: Drawn, why: str) -> None:
        digest = drawn.artwork.digest()
        where = (piece.order, piece.id)
        if piece.digest == digest:
            if piece.held:
                self.write("UPDATE pieces SET held = '' WHERE order_id = ? AND id = ?", *where)
            return
        row = self.one("SELECT MAX(version) AS n FROM artworks WHERE order_id = ? AND piece_id = ?", *where)
        version = (row["n"] or 0) + 1 if row else 1
        font, size_um = drawn.font or terms.font, round(drawn.size * UM_PER_MM)
        self.write(
            "INSERT INTO artworks (order_id, piece_id, version, making_id, digest, title, template, font,"
            " size_um, geometry, drawn_at) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            *(*where, version, making, digest, drawn.artwork.title, terms.template, font, size_um),
            *(pack_artwork(drawn.artwork), self.now),
        )
        sql = "UPDATE pieces SET version = ?, held = '' WHERE order_id = ? AND id = ?"
        self.write(sql, version, *where)
        said: dict[str, Any] = {"version": version, "digest": digest, "font": font, "size_um": size_um}
        said |= {"why": why} if why else {}
        if piece.state is State.PROOFED:
            self.move(piece, State.DRAFTED, "drawn anew", **said)
        else:
            self.happened(*where, "drawn", **said)

    def version(self, order: str, piece: str, number: int) -> Version:
        """One artwork of a piece.

        Raises:
            LedgerError: there is none of that number, or it is damaged.
        """
        sql = "SELECT * FROM artworks WHERE order_id = ? AND piece_id = ? AND version = ?"
        row = self.one(sql, order, piece, number)
        if row is None:
            raise LedgerError(f"{order}/{piece} has no version {number}", hint="see monikerf history")
        return _version(row)

    def making_of(self, order: str, piece: str, number: int) -> int:
        """The number of the making that an artwork came out of; 0 if there is no such artwork."""
        sql = "SELECT making_id FROM artworks WHERE order_id = ? AND piece_id = ? AND version = ?"
        row = self.one(sql, order, piece, number)
        return int(row["making_id"]) if row else 0

    def versions(self, order: str, piece: str) -> tuple[Version, ...]:
        """Every artwork that a piece has had, the oldest first."""
        sql = "SELECT * FROM artworks WHERE order_id = ? AND piece_id = ? ORDER BY version"
        return tuple(_version(row) for row in self.rows(sql, order, piece))

    def making(self, number: int) -> Making:
        """What decided how artworks look.

        Raises:
            LedgerError: there is none of that number.
        """
        row = self.one("SELECT * FROM makings WHERE id = ?", number)
        if row is None:
            raise LedgerError(f"the ledger has no making {number}", hint="run monikerf doctor")
        return Making(
            terms=Terms(row["template"], row["blank"], row["machine"], row["font"]),
            pins=json.loads(row["pins"]),
            pieces=unpack_pieces(row["texts"]),
            sizes=json.loads(row["sizes"]),
            id=row["id"],
        )

    def pins(self, order: str) -> Mapping[str, float]:
        """The sizes by slot that an order's approved pieces share; none before a piece is approved."""
        row = self.one(
            "SELECT m.sizes FROM pieces AS p JOIN artworks AS a"
            " ON a.order_id = p.order_id AND a.piece_id = p.id AND a.version = p.version"
            " JOIN makings AS m ON m.id = a.making_id JOIN orders AS o ON o.id = p.order_id"
            " WHERE p.order_id = ? AND p.approved = a.digest"
            " AND m.template = o.template AND m.blank = o.blank AND m.font = o.font"
            " GROUP BY m.id ORDER BY COUNT(*) DESC, m.id LIMIT 1",
            order,
        )
        return json.loads(row["sizes"]) if row else {}


def _version(row: sqlite3.Row) -> Version:
    try:
        artwork = unpack_artwork(row["piece_id"], row["title"], row["geometry"])
    except ValueError as error:
        raise LedgerError(str(error), hint="put a backup in the ledger's place") from error
    return Version(
        order=row["order_id"],
        piece=row["piece_id"],
        number=row["version"],
        making=row["making_id"],
        digest=row["digest"],
        template=row["template"],
        font=row["font"],
        size=row["size_um"] / UM_PER_MM,
        drawn_at=row["drawn_at"],
        artwork=artwork,
    )
