"""What customers were shown, and what they said to it."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence

from render.shop.ledger.states import State
from render.shop.ledger.store import LedgerError, to_json
from render.shop.ledger.values import Answer, LedgerPiece, PieceAnswer, Recorded, Reply
from render.shop.ledger.versions import Versions

SHORTEST_PREFIX = 8
"""So many digits of a digest at least say which artwork is meant (32 bits: among the few versions that one
piece has had, two that agree in them are out of the question)."""


class Proofs(Versions):
    """Proofs and answers."""

    def to_show(self, order: str) -> tuple[LedgerPiece, ...]:
        """The pieces that the customer has yet to approve and that can be made, in the table's order."""
        return tuple(p for p in self.pieces(order, State.DRAFTED, State.PROOFED) if not p.held and not p.wish)

    def record_proof(self, order: str, shown: Mapping[str, str], files: Sequence[str]) -> int:
        """Write down that pieces were shown: id and digest of each, and the names of the files.

        Returns:
            The proof's number.

        Raises:
            LedgerError: a piece looks different by now: the proof must be made again.
        """
        with self.atomic():
            self.order(order)
            number = self.write(
                "INSERT INTO proofs (order_id, files, shown_at) VALUES (?, ?, ?)",
                *(order, to_json(list(files)), self.now),
            )
            for id_, digest in shown.items():
                piece = self.piece(order, id_)
                if not digest or piece.digest != digest:
                    hint = "make the proof again: monikerf proof"
                    raise LedgerError(f"{piece.name} is not what was drawn for the proof", hint=hint)
                self.write(
                    "INSERT INTO shown (proof_id, order_id, piece_id, version) VALUES (?, ?, ?, ?)",
                    *(number, order, id_, piece.version),
                )
                if piece.state is State.DRAFTED:
                    self.move(piece, State.PROOFED, "shown", proof=number, version=piece.version)
                else:
                    self.happened(order, id_, "shown again", proof=number, version=piece.version)
            return number

    def record_answer(self, answer: Answer, text: str = "") -> Recorded:
        """Write down what a customer said, piece by piece; the same answer again changes nothing.

        A piece that is right is approved, exactly as it was shown. A wish makes it a draft that waits for the
        maker. What was said of an older version, or of a piece that was approved or made already, is refused
        with the reason; the rest of the answer counts.

        Raises:
            LedgerError: there is no such order, or the answer speaks twice of one piece.
        """
        names = [each.piece for each in answer.pieces]
        if len(set(names)) != len(names):
            raise LedgerError("the answer speaks twice of one piece", hint="ask the customer which holds")
        said = [[a.piece, a.digest_prefix, a.right, a.wish] for a in answer.pieces]
        digest = hashlib.sha256(to_json([answer.order, answer.note, said]).encode()).hexdigest()
        with self.atomic():
            self.order(answer.order)
            row = self.one("SELECT id FROM answers WHERE digest = ?", digest)
            if row is not None:
                return Recorded(answer.order, answer.note, self._replies(row["id"]), again=True)
            number = self.write(
                "INSERT INTO answers (order_id, digest, text, note, answered_at) VALUES (?, ?, ?, ?, ?)",
                *(answer.order, digest, text, answer.note, self.now),
            )
            self.happened(answer.order, None, "answered", answer=number, note=answer.note)
            replies = tuple(self._record(answer.order, number, each) for each in answer.pieces)
            return Recorded(answer.order, answer.note, replies)

    def _replies(self, answer: int) -> tuple[Reply, ...]:
        rows = self.rows("SELECT * FROM answered WHERE answer_id = ? ORDER BY piece_id", answer)
        return tuple(Reply(r["piece_id"], r["outcome"], r["reason"], r["wish"]) for r in rows)

    def _record(self, order: str, number: int, said: PieceAnswer) -> Reply:
        row = self.one("SELECT 1 FROM pieces WHERE order_id = ? AND id = ?", order, said.piece)
        piece = self.piece(order, said.piece) if row else None
        reason = self._why_refused(piece, said) if piece else "the order has no such piece"
        wish = " ".join(said.wish.split())
        outcome = "refused" if reason else "approved" if said.right else "wish"
        if piece and outcome == "approved":
            self._approve(piece)
            self.move(piece, State.APPROVED, "approved", answer=number, digest=piece.digest)
        elif piece and outcome == "wish":
            self.move(piece, State.DRAFTED, "wished", answer=number, wish=wish)
            sql = "UPDATE pieces SET wish = ?, approved = '' WHERE order_id = ? AND id = ?"
            self.write(sql, wish or "(no words)", piece.order, piece.id)
        elif piece:
            self.happened(order, piece.id, "answer refused", answer=number, reason=reason, wish=wish)
        self.write(
            "INSERT INTO answered (answer_id, piece_id, digest_prefix, right, wish, outcome, reason)"
            " VALUES (?, ?, ?, ?, ?, ?, ?)",
            *(number, said.piece, said.digest_prefix, int(said.right), wish, outcome, reason),
        )
        return Reply(said.piece, outcome, reason, wish)

    def _approve(self, piece: LedgerPiece) -> None:
        sql = "UPDATE pieces SET approved = ?, wish = '' WHERE order_id = ? AND id = ?"
        self.write(sql, piece.digest, piece.order, piece.id)

    def approve_unasked(self, order: str, piece: str, reason: str) -> None:
        """Approve a piece as it is now drawn without the customer's answer, on the maker's word.

        Raises:
            LedgerError: no reason is given, or the piece cannot be made.
            WrongMoveError: it is past that.
        """
        if not reason.strip():
            raise LedgerError("a reason is needed", hint='such as --without-approval "told by telephone"')
        with self.atomic():
            known = self.piece(order, piece)
            if not known.digest or known.held:
                hint = known.held or "draw it first"
                raise LedgerError(f"{known.name} cannot be made as it is", hint=hint)
            self._approve(known)
            self.move(known, State.APPROVED, "approved unasked", reason=reason, digest=known.digest)

    def _why_refused(self, piece: LedgerPiece, said: PieceAnswer) -> str:
        """Why what was said of a piece cannot be taken; empty if it can."""
        prefix = said.digest_prefix.lower()
        if len(prefix) < SHORTEST_PREFIX:
            return "it does not say which version is meant"
        if not piece.digest.startswith(prefix):
            older = [v.number for v in self.versions(piece.order, piece.id) if v.digest.startswith(prefix)]
            if not older:
                return "it speaks of an artwork that this piece never had"
            return f"it speaks of version {older[-1]}; the newest is version {piece.version}"
        if piece.state is State.DRAFTED:
            return "it has been changed since it was shown; a new proof is due"
        if piece.load:
            return f"it lies on load {piece.load}"
        if piece.state is State.PROOFED or (piece.state is State.APPROVED and not said.right):
            return ""  # who thinks again before it is made may
        return f"it is already {piece.state}"
