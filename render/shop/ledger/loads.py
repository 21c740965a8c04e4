"""Loads of the machine: which piece lies where, what came off well, what is in its bag."""

from __future__ import annotations

import sqlite3
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from render.shop.ledger.orders import piece_of
from render.shop.ledger.proofs import Proofs
from render.shop.ledger.states import State
from render.shop.ledger.store import LedgerError, to_json
from render.shop.ledger.values import LedgerPiece, Load, Place

EVERY_PIECE = """SELECT p.*, COALESCE(a.digest, '') AS digest FROM pieces AS p
    LEFT JOIN artworks AS a ON a.order_id = p.order_id AND a.piece_id = p.id AND a.version = p.version
    WHERE p.state IN (SELECT value FROM json_each(?)) ORDER BY p.order_id, p.position, p.id"""

TO_MAKE = frozenset({State.APPROVED, State.FAILED})


@dataclass(frozen=True, slots=True)
class NewLoad:
    """A load that is about to be written down.

    Attributes:
        places: place, order, piece and digest of everything that lies on it.
        sha256: of its sheet, which stands in the folder `aside`.
        sheet: name of the sheet's file in its folder.
    """

    machine: str
    blank: str
    material: str
    places: tuple[tuple[int, str, str, str], ...]
    sha256: str
    aside: str
    sheet: str


class Loads(Proofs):
    """Loads, their outcomes, and packing."""

    def open_loads(self, new: Sequence[NewLoad], *, folder: str = "out") -> tuple[Load, ...]:
        """Write loads down, all of them or none: from then on their pieces are spoken for.

        Raises:
            LedgerError: a piece is not approved exactly as it lies there, or lies on another load already.
        """
        with self.atomic():
            return tuple(self._open_load(each, folder) for each in new)

    def _open_load(self, new: NewLoad, folder: str) -> Load:
        row = self.one("SELECT COALESCE(MAX(id), 0) + 1 AS n FROM loads")
        number = int(row["n"]) if row else 1
        file = f"{folder}/load-{number:04d}/{new.sheet}"
        self.write(
            "INSERT INTO loads (id, machine, blank, material, file, sha256, aside, state, made_at)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, 'open', ?)",
            *(number, new.machine, new.blank, new.material, file, new.sha256, new.aside, self.now),
        )
        for place, order, id_, digest in new.places:
            piece = self.piece(order, id_)
            if piece.load:
                raise LedgerError(
                    f"{piece.name} lies on load {piece.load} already", hint="see monikerf today"
                )
            if piece.state not in TO_MAKE or digest != piece.approved or digest != piece.digest:
                hint = "it was changed meanwhile; see monikerf history"
                raise LedgerError(f"{piece.name} is not approved as it lies on the sheet", hint=hint)
            self.write(
                "INSERT INTO places (load_id, place, order_id, piece_id, version) VALUES (?, ?, ?, ?, ?)",
                *(number, place, order, id_, piece.version),
            )
            sql = "UPDATE pieces SET load_id = ? WHERE order_id = ? AND id = ?"
            self.write(sql, number, order, id_)
            self.happened(
                order, id_, "laid out", load=number, place=place, remake=piece.state is State.FAILED
            )
        return self.load(number)

    def load(self, number: int) -> Load:
        """One load with its places.

        Raises:
            LedgerError: there is none of that number.
        """
        row = self.one("SELECT * FROM loads WHERE id = ?", number)
        if row is None:
            last = self.one("SELECT MAX(id) AS n FROM loads")
            known = f"the last is {last['n']}" if last and last["n"] else "there is none yet: monikerf load"
            raise LedgerError(f"there is no load {number}", hint=known)
        return self._load(row)

    def loads(self, *states: str) -> tuple[Load, ...]:
        """All loads, or those in one of the states (``open``, ``done``, ``dropped``), the oldest first."""
        found = self.rows("SELECT * FROM loads ORDER BY id")
        return tuple(self._load(row) for row in found if not states or row["state"] in states)

    def _load(self, row: sqlite3.Row) -> Load:
        places = self.rows(
            "SELECT l.place, l.order_id, l.piece_id, a.title, (SELECT o.result FROM outcomes AS o"
            " WHERE o.load_id = l.load_id AND o.place = l.place ORDER BY o.id DESC LIMIT 1) AS result"
            " FROM places AS l JOIN artworks AS a"
            " ON a.order_id = l.order_id AND a.piece_id = l.piece_id AND a.version = l.version"
            " WHERE l.load_id = ? ORDER BY l.place",
            row["id"],
        )
        lying = tuple(
            Place(p["place"], p["order_id"], p["piece_id"], p["title"], p["result"] or "") for p in places
        )
        return Load(**{key: row[key] for key in row.keys()}, places=lying)  # noqa: SIM118 - a Row, no mapping

    def record_outcomes(
        self, number: int, *, failed: Collection[int] = (), places: Collection[int] | None = None
    ) -> tuple[tuple[Place, str], ...]:
        """Write down what came off a load: made, but for the places that failed.

        Said twice it changes nothing. A load is done when every place of it has been spoken of.

        Args:
            number: of the load.
            failed: places where the piece is spoilt.
            places: only these (and the failed ones); None: the whole load.

        Returns:
            The places whose outcome changed, with the new one.

        Raises:
            LedgerError: there is no such load or place, or the load was dropped.
            WrongMoveError: a piece is past that: packed, or made anew.
        """
        with self.atomic():
            load = self._markable(number, {*failed, *(places or ())})
            asked = {p.place for p in load.places} if places is None else {*places, *failed}
            changed: list[tuple[Place, str]] = []
            for place in load.places:
                result = "failed" if place.place in failed else "made"
                settled = places is None and place.result and place.place not in failed
                if place.place in asked and place.result != result and not settled:
                    self._record_outcome(load, place, result)
                    changed.append((place, result))
            open_ = [p for p in self.load(number).places if not p.result]
            if not open_ and load.state == "open":
                self.write("UPDATE loads SET state = 'done' WHERE id = ?", number)
            return tuple(changed)

    def _markable(self, number: int, places: Collection[int]) -> Load:
        load = self.load(number)
        if load.state == "dropped":
            raise LedgerError(f"load {number} was dropped", hint="lay its pieces out again: monikerf load")
        unknown = sorted(set(places) - {p.place for p in load.places})
        if unknown:
            here = ", ".join(str(p.place) for p in load.places)
            raise LedgerError(f"load {number} has nothing on place {unknown[0]}", hint=f"it has {here}")
        return load

    def _record_outcome(self, load: Load, place: Place, result: str) -> None:
        piece = self.piece(place.order, place.piece)
        if piece.load not in (0, load.id):
            raise LedgerError(f"{piece.name} lies on load {piece.load} by now", hint="mark that one")
        if not piece.load and not place.result:
            raise LedgerError(f"{piece.name} has been changed since load {load.id}", hint="see its history")
        to = State(result)
        if piece.state is to:  # a remake that failed as well
            self.happened(piece.order, piece.id, "failed again", load=load.id, place=place.place)
        else:
            self.move(piece, to, result, load=load.id, place=place.place)
        sql = "INSERT INTO outcomes (load_id, place, result, told_at) VALUES (?, ?, ?, ?)"
        self.write(sql, load.id, place.place, result, self.now)
        sql = "UPDATE pieces SET load_id = NULL WHERE order_id = ? AND id = ?"
        self.write(sql, piece.order, piece.id)

    def drop_load(self, number: int, reason: str) -> Load:
        """Give a load up before it is burned: its pieces can be laid out again.

        Raises:
            LedgerError: there is no such load, or something of it has been made.
        """
        with self.atomic():
            load = self._markable(number, ())
            if load.state != "open" or any(p.result for p in load.places):
                raise LedgerError(
                    f"load {number} has been burned", hint="mark what failed: monikerf made --failed"
                )
            self.write("UPDATE loads SET state = 'dropped' WHERE id = ?", number)
            for place in load.places:
                sql = "UPDATE pieces SET load_id = NULL WHERE order_id = ? AND id = ?"
                self.write(sql, place.order, place.piece)
                self.happened(place.order, place.piece, "load dropped", load=number, reason=reason)
            return self.load(number)

    def pack(
        self, order: str, pieces: Collection[str] | None = None, *, bag: str = ""
    ) -> tuple[LedgerPiece, ...]:
        """Put pieces into their bag: those named, or all of the order that are made; which ones those were.

        A piece that is packed already stays so.

        Raises:
            LedgerError: there is no such piece.
            WrongMoveError: a piece that was named is not made.
        """
        with self.atomic():
            named = [self.piece(order, id_) for id_ in dict.fromkeys(pieces)] if pieces is not None else None
            found = self.pieces(order, State.MADE) if named is None else named
            packed = tuple(piece for piece in found if piece.state is not State.PACKED)
            for piece in packed:
                self.move(piece, State.PACKED, "packed", **({"bag": bag} if bag else {}))
            return tuple(self.piece(order, piece.id) for piece in packed)

    def unpack(self, order: str, pieces: Collection[str]) -> tuple[LedgerPiece, ...]:
        """Take pieces out of their bag again.

        Raises:
            LedgerError: there is no such piece.
            WrongMoveError: a piece is not packed.
        """
        with self.atomic():
            found = tuple(self.piece(order, id_) for id_ in dict.fromkeys(pieces))
            for piece in found:
                self.move(piece, State.MADE, "unpacked")
            return tuple(self.piece(order, piece.id) for piece in found)

    def everywhere(self, *states: State) -> tuple[LedgerPiece, ...]:
        """The pieces of all orders that are in one of the states."""
        found = self.rows(EVERY_PIECE, to_json(list(states)))
        return tuple(piece_of(row) for row in found)
