"""The ledger: tables taken in, states, answers, loads, and what it can tell of all that."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from render.geometry import Path as Outline
from render.model import Artwork, Mark, Operation, Piece, Problem, Severity
from render.shop.ledger import MOVES, About, Change, Ledger, LedgerError, State, Terms, WrongMoveError
from render.shop.ledger.differences import pair_up
from render.shop.ledger.packed import pack_artwork, unpack_artwork
from render.shop.ledger.states import check_move
from tests.shop.ledger.made_up import TERMS, approve, artwork, draw, lay, said, table

# ---------------------------------------------------------------- tables


def test_the_same_table_twice_changes_nothing(ledger: Ledger) -> None:
    assert ledger.take("feast", TERMS, table("Ann", "Bo", "Cy")).new
    before = ledger.last_event()
    again = ledger.take("feast", TERMS, table("Ann", "Bo", "Cy"), apply=True)
    assert not again.new
    assert not again.differs
    assert not again.applied
    assert ledger.last_event() == before


def test_a_corrected_table_is_told_row_by_row_and_applied_only_when_asked(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann", "Bo", "Cy"))
    corrected = table("Ann", "Boo", "Di", "Ed")
    told = ledger.take("feast", TERMS, corrected)
    kinds = {(c.kind, c.before.get("name"), c.after.get("name")) for c in told.changes}
    assert (Change.CHANGED, "Bo", "Boo") in kinds
    assert {k for k, _, _ in kinds} == {Change.CHANGED, Change.NEW, Change.GONE}
    assert not told.applied
    assert [p.title for p in ledger.pieces("feast")] == ["Ann", "Bo", "Cy"]
    assert ledger.take("feast", TERMS, corrected, apply=True).applied
    assert [p.title for p in ledger.pieces("feast")] == ["Ann", "Boo", "Di", "Ed"]
    assert not ledger.take("feast", TERMS, corrected).differs


def test_a_row_put_in_on_top_moves_the_others_without_changing_them(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann", "Bo"))
    taken = ledger.take("feast", TERMS, table("Zoë", "Ann", "Bo"), apply=True)
    assert [(c.kind, c.after["name"]) for c in taken.changes] == [(Change.NEW, "Zoë")]
    assert [(p.title, p.id, p.row) for p in ledger.pieces("feast")] == [
        ("Zoë", "p004", 2), ("Ann", "p002", 3), ("Bo", "p003", 4)]  # fmt: skip


def test_a_table_never_changes_what_was_approved(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann", "Bo"))
    approve(ledger, "feast")
    taken = ledger.take("feast", TERMS, table("Anne"), apply=True)
    assert {c.kept != "" for c in taken.changes} == {True}
    assert "monikerf correct" in taken.changes[0].kept
    assert not taken.applied
    assert [(p.title, p.state) for p in ledger.pieces("feast")] == [("Ann", "approved"), ("Bo", "approved")]


def test_where_somebody_sits_may_change_at_any_time(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann"))
    approve(ledger, "feast")
    moved = [Piece("p002", 2, {"name": "Ann", "table": "Elm"})]
    assert ledger.take("feast", TERMS, moved, drawn={"name"}, apply=True).applied
    (piece,) = ledger.pieces("feast")
    assert (piece.fields["table"], piece.state) == ("Elm", State.APPROVED)
    assert not list(ledger.check())


def test_other_terms_are_told_and_applied(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann"))
    taken = ledger.take("feast", Terms("key-tag", "key-tag", "co2"), table("Ann"))
    assert taken.terms == (("template", "pet-tag", "key-tag"), ("blank", "pet-tag", "key-tag"))
    assert ledger.order("feast").terms == TERMS


def test_what_is_known_of_an_order_is_kept_with_its_problems(ledger: Ledger) -> None:
    problem = Problem(Severity.LOOK, "all-capitals", "It shouts.", piece="p002", row=2)
    about = About("Lindqvist", "2026-06-19", 24_550, "EUR")
    ledger.take("feast", TERMS, table("ANN"), table="guests.csv", problems=[problem], about=about)
    order = ledger.order("feast")
    assert (order.customer, order.due, order.price, order.currency) == (
        "Lindqvist",
        "2026-06-19",
        24_550,
        "EUR",
    )
    assert order.problems == (problem,)


@pytest.mark.parametrize("name", ["", "Feast", "a/b", "-a", "ä", "a" * 61])
def test_an_order_needs_a_plain_id(ledger: Ledger, name: str) -> None:
    with pytest.raises(LedgerError, match="cannot be the id"):
        ledger.take(name, TERMS, table("Ann"))


NAMES = st.lists(st.sampled_from(["Ann", "Bo", "Cy", "Di", "Annie", "Bob"]), max_size=8)


@given(NAMES, NAMES)
def test_every_row_of_both_tables_is_paired_once(old: list[str], new: list[str]) -> None:
    before, after = ([{"name": name} for name in names] for names in (old, new))
    pairs = pair_up(before, after)
    assert sorted(a for a, _ in pairs if a is not None) == list(range(len(old)))
    assert sorted(b for _, b in pairs if b is not None) == list(range(len(new)))
    alike = sum(old[a] == new[b] for a, b in pairs if a is not None and b is not None)
    assert alike == sum(min(old.count(name), new.count(name)) for name in set(old))


# ---------------------------------------------------------------- states


@pytest.mark.parametrize("old", list(State))
@pytest.mark.parametrize("new", list(State))
def test_a_wrong_move_is_refused_with_what_is_allowed(old: State, new: State) -> None:
    if new in MOVES[old]:
        check_move("feast/p002", old, new)
        return
    with pytest.raises(WrongMoveError, match=f"feast/p002 is {old}") as caught:
        check_move("feast/p002", old, new)
    assert all(way in caught.value.hint for way in MOVES[old].values())


def test_a_piece_goes_all_the_way_and_its_history_tells_it(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann", "Bo"))
    approve(ledger, "feast")
    first = lay(ledger, "feast/p002", "feast/p003")
    ledger.record_outcomes(first, failed=[2])
    second = lay(ledger, "feast/p003")
    ledger.record_outcomes(second)
    assert [p.id for p in ledger.pack("feast", bag="box 1")] == ["p002", "p003"]
    kinds = [event.kind for event in ledger.history("feast", "p003")]
    assert kinds == [
        "taken in",
        "drawn",
        "shown",
        "approved",
        "laid out",
        "failed",
        "laid out",
        "made",
        "packed",
    ]
    assert not list(ledger.check())


def test_a_correction_sends_even_a_made_piece_back(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann"))
    approve(ledger, "feast")
    ledger.record_outcomes(lay(ledger, "feast/p002"))
    piece = ledger.correct("feast", "p002", {"name": "Anne"})
    assert (piece.state, piece.approved, piece.title) == (State.DRAFTED, "", "Anne")
    approve(ledger, "feast")
    assert ledger.piece("feast", "p002").version == 2
    assert [v.artwork.title for v in ledger.versions("feast", "p002")] == ["Ann", "Anne"]


def test_what_lies_on_a_load_or_is_packed_is_not_corrected(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann"))
    approve(ledger, "feast")
    number = lay(ledger, "feast/p002")
    with pytest.raises(LedgerError, match="lies on load 1"):
        ledger.correct("feast", "p002", {"name": "Anne"})
    ledger.record_outcomes(number)
    ledger.pack("feast")
    with pytest.raises(WrongMoveError):
        ledger.correct("feast", "p002", {"name": "Anne"})


# ---------------------------------------------------------------- proofs and answers


def test_a_proof_of_something_else_is_not_recorded(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann", "Bo"))
    digests = draw(ledger, "feast")
    with pytest.raises(LedgerError, match="not what was drawn"):
        ledger.record_proof("feast", {**digests, "p003": "0" * 64}, [])
    assert {p.state for p in ledger.pieces("feast")} == {State.DRAFTED}


def test_an_answer_counts_piece_by_piece_and_the_same_twice_once(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann", "Bo", "Cy"))
    digests = draw(ledger, "feast")
    ledger.record_proof("feast", digests, [])
    answer = said("feast", ("p002", digests["p002"], None), ("p003", digests["p003"], '"Boo"'),
                  ("p009", digests["p002"], None), note="Friday")  # fmt: skip
    first = ledger.record_answer(answer, "as it came")
    assert [(r.piece, r.outcome) for r in first.replies] == [
        ("p002", "approved"), ("p003", "wish"), ("p009", "refused")]  # fmt: skip
    before = ledger.last_event()
    again = ledger.record_answer(answer, "as it came")
    assert again.again
    assert again.replies == first.replies
    assert ledger.last_event() == before
    states = {p.id: (p.state, p.wish) for p in ledger.pieces("feast")}
    assert states == {"p002": ("approved", ""), "p003": ("drafted", '"Boo"'), "p004": ("proofed", "")}


def test_an_answer_to_an_older_version_is_refused_with_the_reason(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann", "Bo"))
    old = draw(ledger, "feast")
    ledger.record_proof("feast", old, [])
    ledger.correct("feast", "p002", {"name": "Anne"})
    early = ledger.record_answer(said("feast", ("p002", old["p002"], None)))
    assert "changed since it was shown" in early.replies[0].reason
    ledger.record_proof("feast", draw(ledger, "feast"), [])
    answer = said("feast", ("p002", old["p002"], None), ("p003", old["p003"], None), note="late")
    replies = {r.piece: r for r in ledger.record_answer(answer).replies}
    assert replies["p002"].reason == "it speaks of version 1; the newest is version 2"
    assert replies["p003"].outcome == "approved"
    assert ledger.piece("feast", "p002").state is State.PROOFED


def test_who_thinks_again_before_it_is_made_may(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann", "Bo"))
    digests = approve(ledger, "feast")
    lay(ledger, "feast/p003")
    answer = said("feast", ("p002", digests["p002"], '"Anne"'), ("p003", digests["p003"], '"Boo"'))
    outcomes = [(r.outcome, r.reason) for r in ledger.record_answer(answer).replies]
    assert outcomes == [("wish", ""), ("refused", "it lies on load 1")]


def test_a_wish_waits_for_the_maker_and_is_not_shown_again_as_it_was(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann"))
    digests = draw(ledger, "feast")
    ledger.record_proof("feast", digests, [])
    ledger.record_answer(said("feast", ("p002", digests["p002"], "smaller please")))
    assert ledger.to_show("feast") == ()
    ledger.correct("feast", "p002", {})
    assert [p.id for p in ledger.to_show("feast")] == ["p002"]


# ---------------------------------------------------------------- loads


def test_only_what_is_approved_exactly_so_lies_on_a_load(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann", "Bo"))
    approve(ledger, "feast")
    ledger.correct("feast", "p003", {"name": "Boo"})
    draw(ledger, "feast")
    with pytest.raises(LedgerError, match="not approved as it lies"):
        lay(ledger, "feast/p002", "feast/p003")
    assert ledger.loads() == ()
    assert ledger.piece("feast", "p002").load == 0
    lay(ledger, "feast/p002")
    with pytest.raises(LedgerError, match="lies on load 1 already"):
        lay(ledger, "feast/p002")


def test_marking_twice_changes_nothing_and_single_places_leave_the_load_open(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann", "Bo", "Cy"))
    approve(ledger, "feast")
    number = lay(ledger, "feast/p002", "feast/p003", "feast/p004")
    assert [(p.place, r) for p, r in ledger.record_outcomes(number, places=[1])] == [(1, "made")]
    assert ledger.load(number).state == "open"
    assert [(p.place, r) for p, r in ledger.record_outcomes(number, failed=[3])] == [
        (2, "made"),
        (3, "failed"),
    ]
    assert ledger.load(number).state == "done"
    before = ledger.last_event()
    assert ledger.record_outcomes(number, failed=[3]) == ()
    assert ledger.record_outcomes(number) == ()
    assert ledger.last_event() == before
    with pytest.raises(LedgerError, match="nothing on place 4"):
        ledger.record_outcomes(number, failed=[4])


def test_a_dropped_load_gives_its_pieces_back(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann"))
    approve(ledger, "feast")
    ledger.drop_load(lay(ledger, "feast/p002"), "the card was damp")
    assert lay(ledger, "feast/p002") == 2
    with pytest.raises(LedgerError, match="was dropped"):
        ledger.record_outcomes(1)
    assert not list(ledger.check())


# ---------------------------------------------------------------- what is kept


@settings(max_examples=50)
@given(st.lists(st.tuples(st.floats(-500, 500), st.floats(-500, 500)), min_size=2, max_size=12))
def test_geometry_comes_back_with_its_digest(points: list[tuple[float, float]]) -> None:
    outline = Outline.polygon(complex(x, y) for x, y in points)
    kept = Artwork("p002", "Ann", (Mark(Operation.CUT, outline), Mark(Operation.GUIDE, outline)))
    back = unpack_artwork("p002", "Ann", pack_artwork(kept))
    assert back.digest() == kept.digest()
    assert [mark.operation for mark in back.marks] == [Operation.CUT, Operation.GUIDE]


def test_damage_is_found(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann", "Bo", "Cy"))
    approve(ledger, "feast")
    assert not list(ledger.check())
    other = pack_artwork(artwork("p002", "someone else"))
    with ledger.atomic():
        ledger.write("UPDATE artworks SET geometry = ? WHERE piece_id = 'p002'", other)
        ledger.write("UPDATE artworks SET geometry = x'00' WHERE piece_id = 'p003'")
        ledger.write("UPDATE pieces SET approved = 'x' WHERE id = 'p004'")
    wrong = list(ledger.check())
    assert [text.split(":")[0] for text in wrong[:2]] == ["feast/p002, version 1", "feast/p003, version 1"]
    assert wrong[2] == "feast/p004 is approved, but what was approved is not its newest artwork"


def test_a_backup_is_whole_and_opens(ledger: Ledger, tmp_path: Path) -> None:
    ledger.take("feast", TERMS, table("Ann"))
    approve(ledger, "feast")
    ledger.backup(tmp_path / "copy.sqlite")
    assert not (tmp_path / "copy.sqlite-wal").exists()
    with Ledger.open(tmp_path / "copy.sqlite") as copy:
        assert copy.pieces("feast") == ledger.pieces("feast")
        assert copy.last_event() == ledger.last_event()


def test_names_are_found_however_a_person_says_them(ledger: Ledger) -> None:
    ledger.take("feast", TERMS, table("Ann"))
    ledger.take("stall", TERMS, table("Bo"))
    assert [p.name for p in ledger.find("p002")] == ["feast/p002", "stall/p002"]
    assert [p.name for p in ledger.find("stall/p002")] == ["stall/p002"]
    with pytest.raises(LedgerError, match="no order or piece feest"):
        ledger.find("feest")
    with pytest.raises(LedgerError) as caught:
        ledger.order("feest")
    assert "did you mean feast" in caught.value.hint
