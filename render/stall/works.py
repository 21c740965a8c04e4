"""What the pages work with: the bench and the book, each in a thread of its own."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from render.errors import MonikerfError
from render.pipeline.shopfolder import open_ledger
from render.pipeline.stallbook import Book, Filling, jigs_of, make_filling
from render.pipeline.stallwork import Bench, Wish
from render.shop.settings import read_settings
from render.stall.guard import Door

if TYPE_CHECKING:
    from render.shop.stalltable import ThingTable

T = TypeVar("T")


@dataclass(slots=True)
class Works:
    """Everything behind the pages.

    The letterer and the ledger each belong to one thread: whoever wants something of them waits in line.
    """

    shop: Path
    bench: Bench
    door: Door
    name: str
    currency: str
    passphrase: str = field(repr=False)
    _draw: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(1, "bench"))
    _write: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(1, "book"))
    _load: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(1, "load"))
    _book: Book | None = None
    loading: bool = False
    closing: bool = False

    @classmethod
    def open(cls, shop: Path, door: Door, passphrase: str) -> Works:
        """The works of a shop folder.

        Raises:
            MonikerfError: the folder, its settings or its stall cannot be used.
        """
        settings = read_settings(shop)
        open_ledger(shop).close()
        return cls(shop, Bench.open(shop), door, settings.name or shop.resolve().name, settings.currency,
                   passphrase)  # fmt: skip

    async def bench_does(self, work: Callable[[Bench], T]) -> T:
        """Have something drawn."""
        return await asyncio.get_running_loop().run_in_executor(self._draw, work, self.bench)

    async def warm_up(self) -> None:
        """Draw every letter in every font once, a word at a time, so that no customer waits for the first."""
        for wish in self.bench.first_words():
            if self.closing:
                return
            await self.bench_does(partial(_drawn, wish))

    async def book_does(self, work: Callable[[Book], T]) -> T:
        """Have something read from or written into the ledger."""

        def do() -> T:
            if self._book is None:
                ledger = open_ledger(self.shop)
                self._book = Book(ledger, self.shop, self.bench.stall, jigs_of(self.bench), self.currency)
            return work(self._book)

        return await asyncio.get_running_loop().run_in_executor(self._write, do)

    async def make_load(self, blank: str, machine: str, *, remake: bool) -> tuple[str, ...]:
        """Make the next load of a kind, beside everything else; the files that were written.

        Raises:
            MonikerfError: it cannot be made, or another is being made.
        """
        if self.loading:
            raise MonikerfError("a load is being made already", hint="wait a moment")
        self.loading = True
        try:
            filling: Filling = await self.book_does(lambda b: b.to_load(blank, machine, remake=remake))
            loop = asyncio.get_running_loop()
            made = await loop.run_in_executor(
                self._load, make_filling, filling, self.bench.workshop, self.shop
            )
            await self.book_does(lambda b: b.loaded(made))
            return tuple(load.file for load in made.loads)
        finally:
            self.loading = False

    def styles(self, thing: ThingTable) -> list[tuple[str, str]]:
        """The styles of a thing, with the names of their fonts."""
        return [(style, self.bench.font_title(style)) for style in thing.styles]

    def close(self) -> None:
        """Finish what has begun, and close the ledger."""
        self.closing = True
        self._load.shutdown()
        self._draw.shutdown()
        book = self._book
        if book is not None:
            self._write.submit(book.ledger.close).result()
        self._write.shutdown()
        self.bench.keep()


def _drawn(wish: Wish, bench: Bench) -> None:
    bench.draw(wish)
