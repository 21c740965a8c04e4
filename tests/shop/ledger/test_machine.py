"""The ledger driven at random, held against a model in memory that knows only the words of the trade."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from render.shop.ledger import Ledger, LedgerError, State
from tests.shop.ledger.made_up import TERMS, artwork, draw, lay, said, table

NAMES = st.lists(st.sampled_from(["Ann", "Bo", "Cy", "Di"]), min_size=1, max_size=4)
PIECES = st.sampled_from(["p002", "p003", "p004", "p005"])


class Model:
    """A piece as a person keeps it in mind."""

    def __init__(self, name: str) -> None:
        self.name, self.state, self.shown, self.wish, self.load, self.place = name, "drafted", "", False, 0, 0


class Day(RuleBasedStateMachine):
    """Everything that a shop can do with one order, in any order."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.ledger = Ledger.open(
            Path(self.folder.name) / "ledger.sqlite", clock=lambda: "2026-06-15T09:00:00Z", create=True
        )
        self.pieces: dict[str, Model] = {}
        self.loads = 0

    def teardown(self) -> None:
        self.ledger.close()
        self.folder.cleanup()

    # what customers do

    @initialize(names=NAMES)
    def take_in(self, names: list[str]) -> None:
        self.ledger.take("feast", TERMS, table(*names))
        self.pieces = {f"p{n:03d}": Model(name) for n, name in enumerate(names, 2)}

    @rule(data=st.data())
    def another_table_with_as_many_rows(self, data: st.DataObject) -> None:
        before = [piece.name for piece in self.pieces.values()]
        names = [f"{name}{data.draw(st.sampled_from(['', '', 'a', 'b']))}" for name in before]
        if len({*names}) < len(names) or len({*before}) < len(before):
            return  # equal rows may change places, which no one could tell
        if any(name in before and before[at] != name for at, name in enumerate(names)):
            return
        self.ledger.take("feast", TERMS, table(*names), apply=True)
        for piece, name in zip(self.pieces.values(), names, strict=True):
            if piece.name != name and piece.state in ("drafted", "proofed"):
                piece.name, piece.state, piece.wish = name, "drafted", False

    @rule(id_=PIECES, right=st.booleans(), stale=st.booleans())
    def answer(self, id_: str, right: bool, stale: bool) -> None:
        piece = self.pieces.get(id_)
        if piece is None or not piece.shown:
            return
        digest = "f" * 64 if stale else artwork(id_, piece.shown).digest()
        note = str(self.ledger.last_event())  # each message is another one
        (reply,) = self.ledger.record_answer(
            said("feast", (id_, digest, None if right else "smaller"), note=note)
        ).replies
        fits = not stale and piece.shown == piece.name and not piece.load
        accepted = fits and (piece.state == "proofed" or (piece.state == "approved" and not right))
        assert (reply.outcome != "refused") == accepted, reply
        if accepted:
            piece.state, piece.wish = ("approved", False) if right else ("drafted", True)

    # what the maker does

    @rule()
    def show(self) -> None:
        digests = draw(self.ledger, "feast")
        shown = {p.id: digests[p.id] for p in self.ledger.to_show("feast")}
        assert {*shown} == {
            i for i, p in self.pieces.items() if p.state in ("drafted", "proofed") and not p.wish
        }
        self.ledger.record_proof("feast", shown, [])
        for id_ in shown:
            self.pieces[id_].state, self.pieces[id_].shown = "proofed", self.pieces[id_].name

    @rule(id_=PIECES, name=st.sampled_from(["Ann", "Zoë", "Łukasz"]))
    def correct(self, id_: str, name: str) -> None:
        piece = self.pieces.get(id_)
        if piece is None:
            return
        if piece.load or piece.state == "packed":
            with pytest.raises(LedgerError):
                self.ledger.correct("feast", id_, {"name": name})
            return
        self.ledger.correct("feast", id_, {"name": name})
        piece.name, piece.state, piece.wish = name, "drafted", False

    @rule(ids=st.sets(PIECES, min_size=1))
    def load(self, ids: set[str]) -> None:
        names = sorted(i for i in ids if i in self.pieces)
        if not names:
            return
        fit = all(self.pieces[i].state in ("approved", "failed") and not self.pieces[i].load for i in names)
        if not fit:
            with pytest.raises(LedgerError):
                lay(self.ledger, *(f"feast/{i}" for i in names))
            return
        self.loads += 1
        assert lay(self.ledger, *(f"feast/{i}" for i in names)) == self.loads
        for place, id_ in enumerate(names, 1):
            self.pieces[id_].load, self.pieces[id_].place = self.loads, place

    @precondition(lambda self: any(p.load for p in self.pieces.values()))
    @rule(data=st.data())
    def mark(self, data: st.DataObject) -> None:
        number = data.draw(st.sampled_from(sorted({p.load for p in self.pieces.values() if p.load})))
        lying = {p.place: p for p in self.pieces.values() if p.load == number}
        failed = data.draw(st.sets(st.sampled_from(sorted(lying))))
        self.ledger.record_outcomes(number, failed=failed)
        for place, piece in lying.items():
            piece.state, piece.load = ("failed" if place in failed else "made"), 0

    @precondition(lambda self: any(p.load for p in self.pieces.values()))
    @rule()
    def drop(self) -> None:
        number = max(p.load for p in self.pieces.values())
        self.ledger.drop_load(number, "damp")
        for piece in self.pieces.values():
            piece.load = 0 if piece.load == number else piece.load

    @rule()
    def pack(self) -> None:
        made = [i for i, p in self.pieces.items() if p.state == "made"]
        assert [p.id for p in self.ledger.pack("feast")] == made
        for id_ in made:
            self.pieces[id_].state = "packed"

    @precondition(lambda self: any(p.state == "packed" for p in self.pieces.values()))
    @rule()
    def unpack(self) -> None:
        id_ = next(i for i, p in self.pieces.items() if p.state == "packed")
        self.ledger.unpack("feast", [id_])
        self.pieces[id_].state = "made"

    # what always holds

    @invariant()
    def the_ledger_and_the_model_agree(self) -> None:
        kept = {p.id: (p.title, str(p.state), bool(p.wish), p.load) for p in self.ledger.pieces("feast")}
        assert kept == {i: (p.name, p.state, p.wish, p.load) for i, p in self.pieces.items()}

    @invariant()
    def nothing_is_made_that_was_not_approved(self) -> None:
        for id_, piece in self.pieces.items():
            kept = self.ledger.piece("feast", id_)
            if kept.state in (State.APPROVED, State.MADE, State.FAILED, State.PACKED):
                assert kept.approved == kept.digest == artwork(id_, piece.shown).digest()

    @invariant()
    def the_ledger_is_sound(self) -> None:
        assert not list(self.ledger.check())

    @invariant()
    def the_last_event_tells_the_state(self) -> None:
        for id_, piece in self.pieces.items():
            was = [e.kind for e in self.ledger.history("feast", id_) if e.kind in TELLS]
            assert TELLS[was[-1]] == piece.state


TELLS = {
    "taken in": "drafted", "row changed": "drafted", "corrected": "drafted", "drawn anew": "drafted",
    "wished": "drafted", "shown": "proofed", "approved": "approved", "made": "made", "failed": "failed",
    "failed again": "failed", "packed": "packed", "unpacked": "made",
}  # fmt: skip
"""What state each kind of event leaves a piece in."""

TestDay = Day.TestCase
TestDay.settings = settings(max_examples=60, stateful_step_count=30, deadline=None)
