"""The stall's book: orders put into the ledger, the queue, loads, what is left, what was taken."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from render.errors import MonikerfError
from render.pipeline.stallwork import Picture, Wish
from render.shop.ledger import About, LedgerError, State, Terms
from render.shop.ledger.stallorders import (
    PIECE,
    StallOrder,
    Step,
    day_of,
    find_key,
    last_step,
    note_step,
    order_id,
    paused_things,
    stall_orders,
    table_name,
)
from render.shop.stalltable import zone_of

if TYPE_CHECKING:
    from render.pipeline.loading import Loaded
    from render.pipeline.stallwork import Bench
    from render.pipeline.workshop import Workshop
    from render.shop.ledger import Ledger, Load
    from render.shop.stalltable import StallTable, ThingTable

ROUND_UP: Final = 5
"""Waiting times are told in steps of so many minutes, rounded up: a rough word, never a promise."""

CONFIRMED: Final = "confirmed by the customer at the stall"
BY_HAND: Final = "taken by hand at the stall"

WAITING: Final = frozenset({State.APPROVED, State.FAILED})
TO_COME: Final = WAITING | {State.DRAFTED, State.PROOFED}
"""An order in one of these states will take a blank yet."""


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
    """All that the maker sees.

    Attributes:
        ordered: what the day's orders come to, in minor units by currency; cancelled ones do not count.
        handed: what those come to that have been handed over.
        undo: the last step, in words; empty where none can be taken back.
    """

    orders: tuple[StallOrder, ...]
    offers: tuple[Offer, ...]
    filling: tuple[Filling, ...]
    loads: tuple[Load, ...]
    ordered: Mapping[str, int]
    handed: Mapping[str, int]
    counts: Mapping[str, int]
    undo: str
    event: int


class Book:
    """The ledger as the stall uses it; to be used by one thread."""

    def __init__(self, ledger: Ledger, shop: Path, stall: StallTable, jigs: Mapping[str, tuple[int, int]],
                 currency: str) -> None:  # fmt: skip
        self.ledger, self.shop, self.stall, self.currency = ledger, shop, stall, currency
        self._jigs, self._zone = jigs, zone_of(stall)

    # ------------------------------------------------------------ the customer's side

    def today(self) -> tuple[StallOrder, ...]:
        """The orders of the stall's own day."""
        return stall_orders(self.ledger, self.day())

    def day(self, at: str = "") -> str:
        """The stall's day at a time that the ledger tells, or now."""
        return day_of(at or self.ledger.now, self._zone)

    def offers(self, orders: Sequence[StallOrder] | None = None) -> tuple[Offer, ...]:
        """Everything the stall has, and what is left of it: what was burned is gone, well or spoilt."""
        used: Counter[str] = Counter()
        for order in self.today() if orders is None else orders:
            used[order.thing] += order.spent + (order.state in TO_COME)
        paused = paused_things(self.ledger)
        return tuple(
            Offer(t, None if t.count is None else max(0, t.count - used[t.id]), t.id in paused)
            for t in self.stall.thing
        )

    def confirm(
        self, key: str, wish: Wish, picture: Picture, terms: Terms, fields: Mapping[str, str], *,
        by_hand: bool = False,
    ) -> Receipt:  # fmt: skip
        """Put an order into the ledger; when this returns it is on the disk.

        The same key again gives the same number and changes nothing.

        Args:
            key: what the page calls it.
            wish: what is asked for.
            picture: its drawing.
            terms: what it is made of.
            fields: the piece's texts.
            by_hand: the maker took it: also of what has been taken off the table, and it can be taken back.

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
            if not offer.to_have and not (by_hand and offer.left != 0):
                raise SoldOutError(f"{offer.thing.title} is gone for today", hint="choose another thing")
            number = max((o.number for o in orders), default=0) + 1
            id_ = order_id(self.day(), number)
            about = About(price=offer.thing.price, currency=self.currency)
            self.ledger.take(
                id_, terms, picture.making.pieces, table=table_name(wish.thing, key), about=about
            )
            self.ledger.keep_artworks(id_, picture.making, [picture.drawn], {})
            self.ledger.approve_unasked(id_, PIECE, BY_HAND if by_hand else CONFIRMED)
            if by_hand:
                note_step(self.ledger, f"take number {number} in", "order", of=id_)
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
        step = self.last_step()
        return Board(
            orders=orders,
            offers=self.offers(orders),
            filling=tuple(self._fillings(sold)),
            loads=self.ledger.loads("open"),
            ordered=_sums(sold),
            handed=_sums([o for o in sold if o.state is State.PACKED]),
            counts=Counter(str(o.state) for o in orders),
            undo=step.what if step else "",
            event=self.ledger.last_event(),
        )

    def last_step(self) -> Step | None:
        """The maker's last step of today that has not been taken back."""
        step = last_step(self.ledger)
        return step if step is not None and self.day(step.at) == self.day() else None

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
        with self.ledger.atomic():
            note_step(self.ledger, f"make load {', '.join(map(str, numbers))}", "load", loads=numbers)

    def numbered(self, number: int) -> StallOrder:
        """The order that has this number today.

        Raises:
            MonikerfError: there is none.
        """
        found = next((o for o in self.today() if o.number == number), None)
        if found is None:
            raise MonikerfError(f"there is no number {number} today", hint="look at the queue")
        return found

    def wish_of(self, order: StallOrder) -> Wish:
        """What an order asks for."""
        thing = self.stall.named(order.thing)
        second = order.fields.get(thing.second, "") if thing and thing.second else ""
        design = order.template if thing and order.template != thing.template else ""
        return Wish(order.thing, order.font, order.fields.get("name", ""), second, design)


def _sums(orders: Sequence[StallOrder]) -> Mapping[str, int]:
    found: Counter[str] = Counter()
    for order in orders:
        found[order.currency] += order.price
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
