"""The stall's book: orders put into the ledger, the queue, loads, what is left, what was taken."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from render.errors import MonikerfError
from render.pipeline.stallwork import Picture, Wish
from render.shop.ledger import About, LedgerError, State, Terms
from render.shop.ledger.stallorders import (
    PIECE,
    StallOrder,
    day_of,
    find_key,
    order_id,
    pause_thing,
    paused_things,
    stall_orders,
    table_name,
    take_outcomes_back,
)

if TYPE_CHECKING:
    from render.pipeline.loading import Loaded
    from render.pipeline.stallwork import Bench
    from render.pipeline.workshop import Workshop
    from render.shop.ledger import Ledger, Load
    from render.shop.stalltable import StallTable, ThingTable

ROUND_UP: Final = 5
"""Waiting times are told in steps of so many minutes, rounded up: a rough word, never a promise."""

CONFIRMED: Final = "confirmed by the customer at the stall"

WAITING: Final = frozenset({State.APPROVED, State.FAILED})


class SoldOutError(MonikerfError):
    """A thing is gone, or has been taken off the table."""


@dataclass(frozen=True, slots=True)
class Receipt:
    """What a customer is told: the number, the minutes until it may be ready; `again`: it had been sent."""

    number: int
    minutes: int
    again: bool = False


@dataclass(frozen=True, slots=True)
class Offer:
    """A thing as it stands today; `left` None where nobody counts."""

    thing: ThingTable
    left: int | None
    paused: bool

    @property
    def to_have(self) -> bool:
        """Whether a customer can have one."""
        return not self.paused and self.left != 0


@dataclass(frozen=True, slots=True)
class Filling:
    """Pieces that would go on the next load together; `places`: of its jig, or None where there is none."""

    blank: str
    machine: str
    remake: bool
    orders: tuple[StallOrder, ...]
    waiting: int
    places: tuple[int, int] | None


@dataclass(frozen=True, slots=True)
class Board:
    """All that the maker sees."""

    orders: tuple[StallOrder, ...]
    offers: tuple[Offer, ...]
    filling: tuple[Filling, ...]
    loads: tuple[Load, ...]
    taken: Mapping[str, int]
    counts: Mapping[str, int]
    undo: str
    event: int


class Book:
    """The ledger as the stall uses it; to be used by one thread."""

    def __init__(self, ledger: Ledger, shop: Path, stall: StallTable, jigs: Mapping[str, tuple[int, int]],
                 currency: str) -> None:  # fmt: skip
        self.ledger, self.shop, self.stall, self.currency = ledger, shop, stall, currency
        self._jigs = jigs
        self._undo: list[tuple[str, Callable[[], object]]] = []

    # ------------------------------------------------------------ the customer's side

    def today(self) -> tuple[StallOrder, ...]:
        """The day's orders."""
        return stall_orders(self.ledger, day_of(self.ledger.now))

    def offers(self, orders: Sequence[StallOrder] | None = None) -> tuple[Offer, ...]:
        """Everything the stall has, and what is left of it: spoilt blanks are gone as well."""
        used: Counter[str] = Counter()
        for order in self.today() if orders is None else orders:
            used[order.thing] += order.spoilt + (order.state is not State.GONE)
        paused = paused_things(self.ledger)
        return tuple(
            Offer(t, None if t.count is None else max(0, t.count - used[t.id]), t.id in paused)
            for t in self.stall.thing
        )

    def confirm(
        self, key: str, wish: Wish, picture: Picture, terms: Terms, fields: Mapping[str, str]
    ) -> Receipt:
        """Put an order into the ledger; when this returns it is on the disk.

        The same key again gives the same number and changes nothing.

        Args:
            key: what the page calls it.
            wish: what is asked for.
            picture: its drawing.
            terms: what it is made of.
            fields: the piece's texts.

        Raises:
            SoldOutError: the thing is gone or taken off the table.
            LedgerError: the key stands for something else, or the ledger cannot be used.
        """
        if picture.drawn is None or picture.making is None:
            raise MonikerfError(picture.sorry or "that cannot be made", hint="try another style")
        with self.ledger.atomic():
            known = find_key(self.ledger, key)
            if known is not None:
                return self._again(known, wish, fields)
            orders = self.today()
            offer = next(o for o in self.offers(orders) if o.thing.id == wish.thing)
            if not offer.to_have:
                raise SoldOutError(f"{offer.thing.title} is gone for today", hint="choose another thing")
            number = max((o.number for o in orders), default=0) + 1
            id_ = order_id(day_of(self.ledger.now), number)
            about = About(price=offer.thing.price, currency=self.currency)
            self.ledger.take(
                id_, terms, picture.making.pieces, table=table_name(wish.thing, key), about=about
            )
            self.ledger.keep_artworks(id_, picture.making, [picture.drawn], {})
            self.ledger.approve_unasked(id_, PIECE, CONFIRMED)
            return Receipt(number, self._minutes(orders, offer.thing))

    def _again(self, known: tuple[str, str], wish: Wish, fields: Mapping[str, str]) -> Receipt:
        id_, thing = known
        first = next(e for e in self.ledger.history(id_, PIECE) if e.kind == "taken in")
        if thing != wish.thing or dict(first.detail["fields"]) != dict(fields):
            raise LedgerError("this order has been sent before, with something else in it", hint="begin anew")
        return Receipt(int(id_.rsplit("-", 1)[1]), self.minutes_until(id_), again=True)

    def receipt(self, key: str) -> Receipt | None:
        """The number of an order that was sent; None if none was."""
        known = find_key(self.ledger, key)
        return Receipt(int(known[0].rsplit("-", 1)[1]), self.minutes_until(known[0]), True) if known else None

    def minutes_until(self, id_: str) -> int:
        """Roughly how long until an order may be ready; 0 when it is."""
        before: list[StallOrder] = []
        for order in self.today():
            if order.order == id_:
                thing = self.stall.named(order.thing)
                ready = order.state not in WAITING or thing is None
                return 0 if ready or thing is None else self._minutes(before, thing)
            before.append(order)
        return 0

    def _minutes(self, before: Sequence[StallOrder], thing: ThingTable) -> int:
        """Minutes of the work that is still to do and of the thing itself, rounded up."""
        waiting = [self.stall.named(o.thing) for o in before if o.state in WAITING]
        total = thing.minutes + sum(t.minutes for t in waiting if t is not None)
        return ROUND_UP * math.ceil(total / ROUND_UP)

    # ------------------------------------------------------------ the maker's side

    def board(self) -> Board:
        """All that the maker sees."""
        orders = self.today()
        sold = [o for o in orders if o.state is not State.GONE]
        taken: Counter[str] = Counter()
        for order in sold:
            taken[order.currency] += order.price
        return Board(
            orders=orders,
            offers=self.offers(orders),
            filling=tuple(self._fillings(sold)),
            loads=self.ledger.loads("open"),
            taken=taken,
            counts=Counter(str(o.state) for o in orders),
            undo=self._undo[-1][0] if self._undo else "",
            event=self.ledger.last_event(),
        )

    def _fillings(self, orders: Sequence[StallOrder]) -> list[Filling]:
        groups: dict[tuple[str, str, bool], list[StallOrder]] = {}
        for order in orders:
            if order.state in WAITING and not order.load:
                key = (order.blank, order.machine, order.state is State.FAILED)
                groups.setdefault(key, []).append(order)
        found = []
        for (blank, machine, remake), members in groups.items():
            grid = self._jigs.get(blank)
            most = grid[0] * grid[1] if grid else len(members)
            found.append(Filling(blank, machine, remake, tuple(members[:most]), len(members), grid))
        return found

    def to_load(self, blank: str, machine: str, *, remake: bool) -> Filling:
        """What the next load of this kind would hold.

        Raises:
            MonikerfError: nothing.
        """
        for each in self._fillings(self.today()):
            if (each.blank, each.machine, each.remake) == (blank, machine, remake):
                return each
        raise MonikerfError("there is nothing to make of this kind", hint="look at the queue")

    def loaded(self, loaded: Loaded) -> None:
        """Remember loads that were made, so that the step can be taken back."""
        numbers = [load.id for load in loaded.loads]
        title = ", ".join(map(str, numbers))
        self._undo.append((f"make load {title}", lambda: self._drop(*numbers)))

    def _drop(self, *numbers: int) -> None:
        for number in numbers:
            self.ledger.drop_load(number, "taken back at the stall")

    def mark(self, load: int, place: int | None, *, failed: bool) -> None:
        """Mark a place of a load, or all of it that is not marked yet, as made or failed.

        Raises:
            MonikerfError: there is no such load or place, or it is past that.
        """
        before = {p.place: p.result for p in self.ledger.load(load).places}
        places = [p for p, result in before.items() if not result] if place is None else [place]
        done = self.ledger.record_outcomes(load, failed=places if failed else (), places=places)
        word = "failed" if failed else "made"
        if not done:
            return
        fresh = [p.place for p, _ in done if not before[p.place]]
        back = [(p.place, before[p.place] == "failed") for p, _ in done if before[p.place]]
        where = f"place {place}" if place else "the rest"
        what = f"mark {where} of load {load} as {word}"
        self._undo.append((what, lambda: self._mark_back(load, fresh, back)))

    def _mark_back(self, load: int, fresh: Sequence[int], outcomes: Sequence[tuple[int, bool]]) -> None:
        """Unsay what was said of places for the first time; give others the outcome that they had before."""
        take_outcomes_back(self.ledger, load, fresh)
        for place, failed in outcomes:
            self.ledger.record_outcomes(load, failed=[place] if failed else (), places=[place])

    def drop(self, load: int) -> None:
        """Give a load up that was not burned."""
        self._drop(load)

    def hand_over(self, number: int) -> None:
        """The customer has it.

        Raises:
            MonikerfError: it is not made.
        """
        order = self._numbered(number)
        self.ledger.pack(order.order, [PIECE])
        back = (f"hand over number {number}", lambda: self.ledger.unpack(order.order, [PIECE]))
        self._undo.append(back)

    def pause(self, thing: str, *, paused: bool) -> None:
        """Take a thing off the table, or put it out again.

        Raises:
            MonikerfError: there is no such thing.
        """
        known = self.stall.named(thing)
        if known is None:
            raise MonikerfError("there is no such thing at the stall", hint="see stall.toml")
        pause_thing(self.ledger, thing, paused=paused)
        what = f"take {known.title} off the table" if paused else f"put {known.title} out"
        self._undo.append((what, lambda: pause_thing(self.ledger, thing, paused=not paused)))

    def cancel(self, number: int) -> None:
        """The customer does not want it after all.

        Raises:
            MonikerfError: it lies on a load, or is packed.
        """
        order = self._numbered(number)
        with self.ledger.atomic():
            piece = self.ledger.correct(order.order, PIECE, {}, why="cancelled at the stall")
            self.ledger.move(piece, State.GONE, "cancelled")

    def change(self, number: int, picture: Picture, fields: Mapping[str, str], bench: Bench) -> None:
        """Letter a piece anew with the customer present.

        Raises:
            MonikerfError: it lies on a load, is packed, or cannot be made like this.
        """
        order = self._numbered(number)
        if picture.drawn is None or picture.making is None:
            raise MonikerfError(picture.sorry or "that cannot be made", hint="try something shorter")
        before = dict(order.fields)
        self._change(order, picture, fields)
        wish = Wish(order.thing, order.font, before.get("name", ""), self._second(order, before))
        old = bench.draw(wish)
        self._undo.append((f"change number {number}", lambda: self._change(order, old, before)))

    def _change(self, order: StallOrder, picture: Picture, fields: Mapping[str, str]) -> None:
        if picture.drawn is None or picture.making is None:
            raise MonikerfError("what it was before cannot be made any more", hint="type it again")
        with self.ledger.atomic():
            self.ledger.correct(order.order, PIECE, fields, why=CONFIRMED)
            making = replace(picture.making, pieces=(self.ledger.piece(order.order, PIECE).as_piece(),))
            self.ledger.keep_artworks(order.order, making, [picture.drawn], {}, why=CONFIRMED)
            self.ledger.approve_unasked(order.order, PIECE, CONFIRMED)

    def wish_of(self, number: int, name: str) -> tuple[Wish, dict[str, str]]:
        """The wish of an order with another name, and the fields it would have."""
        order = self._numbered(number)
        fields = {**order.fields, "name": name}
        return Wish(order.thing, order.font, name, self._second(order, fields)), fields

    def _second(self, order: StallOrder, fields: Mapping[str, str]) -> str:
        thing = self.stall.named(order.thing)
        return fields.get(thing.second, "") if thing and thing.second else ""

    def undo(self) -> str:
        """Take the last step back; what it was.

        Raises:
            MonikerfError: there is none, or what followed forbids it.
        """
        if not self._undo:
            raise MonikerfError("there is no step to take back", hint="made pieces can be marked as failed")
        what, back = self._undo.pop()
        with self.ledger.atomic():
            back()
        return what

    def _numbered(self, number: int) -> StallOrder:
        found = next((o for o in self.today() if o.number == number), None)
        if found is None:
            raise MonikerfError(f"there is no number {number} today", hint="look at the queue")
        return found


def jigs_of(bench: Bench) -> dict[str, tuple[int, int]]:
    """Columns and rows of the jig of every blank at the stall that has one; 1 × 1 for what turns."""
    from render.model import Hold

    found: dict[str, tuple[int, int]] = {}
    for thing in bench.stall.thing:
        job = bench.job(thing.id, thing.styles[0])
        if job.jig is not None:
            found[job.blank.id] = (job.jig.columns, job.jig.rows)
        elif job.blank.hold is Hold.ROTARY:
            found[job.blank.id] = (1, 1)
    return found


def make_filling(filling: Filling, workshop: Workshop, shop: Path) -> Loaded:
    """Write and verify the sheets of a filling, as ``monikerf load`` does, with a ledger opened for it.

    Raises:
        MonikerfError: see :func:`render.pipeline.loading.make_loads`.
    """
    from render.pipeline.loading import LoadOptions, make_loads
    from render.pipeline.shopfolder import open_ledger

    with open_ledger(shop) as ledger:
        options = LoadOptions(remake=filling.remake)
        orders = [order.order for order in filling.orders]
        return make_loads(ledger, orders, workshop, shop, options, lambda *_: None)
