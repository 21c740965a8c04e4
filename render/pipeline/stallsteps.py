"""What the maker does at the stall; each step is kept in the ledger and can be taken back after a restart."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from render.errors import MonikerfError
from render.pipeline.stallbook import CONFIRMED
from render.shop.ledger import State
from render.shop.ledger.stallorders import (
    PIECE,
    note_step,
    pause_thing,
    remembered,
    restore,
    set_looks,
    settle_step,
    take_load_up_again,
    take_outcomes_back,
)

if TYPE_CHECKING:
    from render.pipeline.stallbook import Book
    from render.pipeline.stallwork import Picture
    from render.shop.ledger import Ledger, Terms


def mark(book: Book, load: int, place: int | None, *, failed: bool) -> None:
    """Mark a place of a load, or all of it that is not marked yet, as made or failed.

    Raises:
        MonikerfError: there is no such load or place, or it is past that.
    """
    with book.ledger.atomic():
        before = {p.place: p.result for p in book.ledger.load(load).places}
        places = [p for p, result in before.items() if not result] if place is None else [place]
        done = book.ledger.record_outcomes(load, failed=places if failed else (), places=places)
        if not done:
            return
        fresh = [p.place for p, _ in done if not before[p.place]]
        back = [[p.place, before[p.place] == "failed"] for p, _ in done if before[p.place]]
        where = f"place {place}" if place else "the rest"
        what = f"mark {where} of load {load} as {'failed' if failed else 'made'}"
        note_step(book.ledger, what, "mark", load=load, fresh=fresh, back=back)


def drop(book: Book, load: int) -> None:
    """Give a load up that was not burned.

    Raises:
        MonikerfError: there is no such load, or it was burned.
    """
    with book.ledger.atomic():
        book.ledger.drop_load(load, "given up at the stall")
        note_step(book.ledger, f"give load {load} up", "drop", load=load)


def hand_over(book: Book, number: int) -> None:
    """The customer has it.

    Raises:
        MonikerfError: it is not made.
    """
    order = book.numbered(number)
    with book.ledger.atomic():
        book.ledger.pack(order.order, [PIECE])
        note_step(book.ledger, f"hand over number {number}", "hand-over", of=order.order)


def pause(book: Book, thing: str, *, paused: bool) -> None:
    """Take a thing off the table, or put it out again.

    Raises:
        MonikerfError: there is no such thing.
    """
    known = book.stall.named(thing)
    if known is None:
        raise MonikerfError("there is no such thing at the stall", hint="see stall.toml")
    with book.ledger.atomic():
        pause_thing(book.ledger, thing, paused=paused)
        what = f"take {known.title} off the table" if paused else f"put {known.title} out"
        note_step(book.ledger, what, "pause", thing=thing, paused=paused)


def cancel(book: Book, number: int) -> None:
    """The customer does not want it after all.

    Raises:
        MonikerfError: it lies on a load, or is packed.
    """
    order = book.numbered(number)
    with book.ledger.atomic():
        was = remembered(book.ledger, order)
        _cancel(book.ledger, order.order)
        now = {"state": State.GONE, "version": was["version"]}
        note_step(book.ledger, f"cancel number {number}", "change", was=was, now=now)


def _cancel(ledger: Ledger, order: str) -> None:
    piece = ledger.correct(order, PIECE, {}, why="cancelled at the stall")
    ledger.move(piece, State.GONE, "cancelled")


def change(book: Book, number: int, picture: Picture, terms: Terms, fields: Mapping[str, str]) -> None:
    """Letter a piece anew with the customer present.

    Raises:
        MonikerfError: it lies on a load, is packed, or cannot be made like this.
    """
    order, ledger = book.numbered(number), book.ledger
    if picture.drawn is None or picture.making is None:
        raise MonikerfError(picture.sorry or "that cannot be made", hint="try something shorter")
    if terms.blank != order.blank:
        raise MonikerfError("this is another thing", hint="cancel the order, and take a new one in")
    with ledger.atomic():
        was = remembered(ledger, order)
        kept = {k: v for k, v in fields.items() if k in was["fields"]}
        ledger.correct(order.order, PIECE, kept, why=CONFIRMED)
        set_looks(ledger, order.order, terms.template, terms.font, fields)
        making = replace(picture.making, pieces=(ledger.piece(order.order, PIECE).as_piece(),))
        ledger.keep_artworks(order.order, making, [picture.drawn], {}, why=CONFIRMED)
        ledger.approve_unasked(order.order, PIECE, CONFIRMED)
        now = {"state": State.APPROVED, "version": ledger.piece(order.order, PIECE).version}
        note_step(ledger, f"change number {number}", "change", was=was, now=now)


# ------------------------------------------------------------------ the way back


def undo(book: Book) -> str:
    """Take the last step back; what it was.

    Raises:
        MonikerfError: there is none, or what followed forbids it; then the step before it is the next.
    """
    step = book.last_step()
    if step is None:
        raise MonikerfError("there is no step to take back", hint="made pieces can be marked as failed")
    try:
        with book.ledger.atomic():
            _BACK[step.act](book.ledger, step.detail)
            settle_step(book.ledger, step, back=True)
    except MonikerfError as error:
        settle_step(book.ledger, step, back=False)
        hint = "the step before it can be taken back instead"
        raise MonikerfError(f"it is too late for: {step.what}. {error.message}", hint=hint) from error
    return step.what


def _unload(ledger: Ledger, step: Mapping[str, Any]) -> None:
    for number in step["loads"]:
        ledger.drop_load(number, "taken back at the stall")


def _unmark(ledger: Ledger, step: Mapping[str, Any]) -> None:
    """Unsay what was said of places for the first time; give others the outcome that they had before."""
    take_outcomes_back(ledger, step["load"], step["fresh"])
    for place, failed in step["back"]:
        ledger.record_outcomes(step["load"], failed=[place] if failed else (), places=[place])


_BACK: Final[Mapping[str, Callable[[Ledger, Mapping[str, Any]], object]]] = {
    "order": lambda ledger, step: _cancel(ledger, step["of"]),
    "load": _unload,
    "mark": _unmark,
    "drop": lambda ledger, step: take_load_up_again(ledger, step["load"]),
    "hand-over": lambda ledger, step: ledger.unpack(step["of"], [PIECE]),
    "pause": lambda ledger, step: pause_thing(ledger, step["thing"], paused=not step["paused"]),
    "change": lambda ledger, step: restore(ledger, step["was"], step["now"]),
}
"""How each kind of step is taken back."""
