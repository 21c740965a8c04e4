"""The maker's desk: an order taken by hand, or a piece changed, with the customer beside it."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from render.errors import MonikerfError
from render.pipeline import stallsteps
from render.pipeline.stallwork import Picture, Wish
from render.shop.ledger.stallorders import is_key
from render.stall.customer import wish_of
from render.stall.pages import page

if TYPE_CHECKING:
    from render.stall.works import Works

BOARD = "/maker"


class Desk:
    """Answers to the maker at the desk; `session` tells the session of a request, empty without one."""

    def __init__(self, works: Works, session: Callable[[Request], str]) -> None:
        self.works, self._session = works, session

    def routes(self) -> list[Route]:
        """Where each page is."""
        return [
            Route("/maker/desk", self.done, methods=["POST"]),
            Route("/maker/desk/new/{thing}", self.new),
            Route("/maker/desk/{number:int}", self.known),
        ]

    async def new(self, request: Request) -> Response:
        """An empty form for a thing."""
        thing = self.works.bench.stall.named(request.path_params["thing"])
        if not self._session(request) or thing is None:
            return RedirectResponse(BOARD, 303)
        return await self._page(request, Wish(thing.id, thing.styles[0], ""), 0, secrets.token_hex(16))

    async def known(self, request: Request) -> Response:
        """The form of an order that can be changed."""
        if not self._session(request):
            return RedirectResponse(BOARD, 303)
        number = int(request.path_params["number"])
        try:
            wish = await self.works.book_does(lambda book: book.wish_of(book.numbered(number)))
        except MonikerfError:
            return RedirectResponse(BOARD, 303)
        if not self.works.bench.has(wish):
            return self._told(request, "What this order was made of is not put out any more: see stall.toml.")
        return await self._page(request, wish, number, secrets.token_hex(16))

    async def done(self, request: Request) -> Response:
        """Take the order in, or change it; then the board."""
        session = self._session(request)
        form = await request.form(max_files=0, max_fields=12)
        if not session or not self.works.door.signed("maker", session, str(form.get("mark", ""))):
            return RedirectResponse(BOARD, 303)
        wish, key, number = wish_of(form, self.works.bench.stall), str(form.get("key", "")), _number(form)
        if wish is None or not is_key(key):
            return self._told(request, "This page is too old. Begin anew.")
        picture: Picture = await self.works.bench_does(lambda bench: bench.draw(wish))
        if picture.sorry:
            return await self._page(request, wish, number, key, picture.sorry)
        terms, fields = self.works.bench.terms(wish), self.works.bench.fields(wish)
        try:
            if number:
                await self.works.book_does(lambda b: stallsteps.change(b, number, picture, terms, fields))
            else:
                receipt = await self.works.book_does(
                    lambda b: b.confirm(key, wish, picture, terms, fields, by_hand=True)
                )
                number = receipt.number
        except MonikerfError as error:
            return await self._page(request, wish, number, key, f"{error.message}. {error.hint}")
        return RedirectResponse(f"{BOARD}#n{number}", 303)

    async def _page(self, request: Request, wish: Wish, number: int, key: str, sorry: str = "") -> Response:
        works, session = self.works, self._session(request)
        thing = works.bench.stall.named(wish.thing)
        assert thing is not None  # noqa: S101 - whoever made the wish has looked
        picture = await works.bench_does(lambda bench: bench.draw(wish)) if wish.name else Picture()
        words = f"Change number {number}" if number else f"{thing.title}, by hand"
        values: dict[str, Any] = {
            "shop": works.name, "words": words, "does": "Letter it anew" if number else "Take the order in",
            "thing": thing, "wish": wish, "number": number or "", "key": key, "sorry": sorry or picture.sorry,
            "styles": works.styles(thing), "designs": works.bench.designs(thing),
            "svg": picture.svg or works.bench.samples[thing.id],
            "token": works.door.sign("form", request.scope["visit"]),
            "mark": works.door.sign("maker", session),
        }  # fmt: skip
        return page("desk", 422 if sorry else 200, **values)

    def _told(self, _: Request, words: str) -> Response:
        return page(
            "gone", 409, shop=self.works.name, words=words, idle=0, to=BOARD, link="Back to the board"
        )


def _number(form: FormData) -> int:
    text = str(form.get("number", ""))
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 7 else 0
