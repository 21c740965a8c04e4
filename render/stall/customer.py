"""The customer's side: choose a thing, type a name, see it, check its spelling, get a number."""

from __future__ import annotations

import secrets
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from render.errors import MonikerfError
from render.pipeline.stallbook import Offer, SoldOutError
from render.pipeline.stallwork import Picture, Wish, tidy
from render.shop.ledger.stallorders import is_key
from render.stall.guard import Bucket, source_of
from render.stall.pages import page

if TYPE_CHECKING:
    from render.shop.stalltable import StallTable, ThingTable
    from render.stall.works import Works


class Customer:
    """Answers to the tablet on the table and to phones."""

    def __init__(self, works: Works, orders: Bucket) -> None:
        self.works, self._orders = works, orders

    def routes(self) -> list[Route]:
        """Where each page is."""
        return [
            Route("/", self.start),
            Route("/thing/{thing}", self.name, methods=["GET", "POST"]),
            Route("/draw", self.draw, methods=["POST"]),
            Route("/styles", self.styles, methods=["POST"]),
            Route("/check", self.check, methods=["POST"]),
            Route("/order", self.order, methods=["POST"]),
            Route("/number/{key}", self.number),
        ]

    def _about(self, request: Request) -> dict[str, Any]:
        """What every page needs."""
        stall = self.works.bench.stall
        visit = request.scope["visit"]
        return {
            "shop": self.works.name,
            "greeting": stall.greeting,
            "idle": stall.idle_seconds,
            "currency": self.works.currency,
            "token": self.works.door.sign("form", visit),
        }

    async def start(self, request: Request) -> Response:
        """The things that are put out today."""
        offers = await self.works.book_does(lambda book: book.offers())
        return page("things", offers=offers, samples=self.works.bench.samples, **self._about(request))

    async def name(self, request: Request) -> Response:
        """Type a name; with a POST it is brought back from the check."""
        thing = self.works.bench.stall.named(request.path_params["thing"])
        if thing is None:
            return RedirectResponse("/", 303)
        offer = await self._offer(thing)
        if not offer.to_have:
            return self._gone(request, thing)
        wish = Wish(thing.id, thing.styles[0], "")
        if request.method == "POST":
            found = await self._wish(request)
            wish = found if found is not None and found.thing == thing.id else wish
        picture = await self._draw(wish) if wish.name else Picture()
        return self._name_page(request, offer, wish, picture)

    def _name_page(self, request: Request, offer: Offer, wish: Wish, picture: Picture) -> Response:
        thing = offer.thing
        return page(
            "name",
            thing=thing,
            offer=offer,
            wish=wish,
            styles=self.works.styles(thing),
            designs=self.works.bench.designs(thing),
            sorry=picture.sorry if wish.name else "",
            svg=picture.svg or self.works.bench.samples[thing.id],
            **self._about(request),
        )

    async def draw(self, request: Request) -> Response:
        """What is typed, drawn: the very artwork, and what can be had instead where it cannot be made."""
        wish = await self._wish(request)
        if wish is None:
            return JSONResponse({"error": "begin anew"}, 400)
        if not wish.name:
            return JSONResponse({"svg": self.works.bench.samples[wish.thing], "sorry": "", "others": []})
        picture = await self._draw(wish)
        others = await self._instead(wish) if picture.sorry else ()
        return JSONResponse({
            "svg": picture.svg or self.works.bench.samples[wish.thing],
            "sorry": picture.sorry,
            "others": [
                {"thing": w.thing, "style": w.style, "design": w.design, "svg": p.svg,
                 "label": self._label(w, wish)}
                for w, p in others
            ],
        })  # fmt: skip

    async def styles(self, request: Request) -> Response:
        """What is typed in each style and each design of the thing; empty where it cannot be made so."""
        wish = await self._wish(request)
        thing = self.works.bench.stall.named(wish.thing) if wish else None
        if wish is None or thing is None:
            return JSONResponse({"error": "begin anew"}, 400)
        if not wish.name:
            return JSONResponse({"style": {}, "design": {}})
        kinds = {"style": thing.styles, "design": ("", *thing.monograms) if thing.monograms else ()}
        drawn = {
            kind: {id_: (await self._draw(replace(wish, **{kind: id_}))).svg for id_ in ids}
            for kind, ids in kinds.items()
        }
        return JSONResponse(drawn)

    async def _instead(self, wish: Wish) -> tuple[tuple[Wish, Picture], ...]:
        offers = await self.works.book_does(lambda book: book.offers())
        out = {offer.thing.id for offer in offers if offer.to_have} - {wish.thing}
        return await self.works.bench_does(lambda bench: bench.instead(wish, out))

    def _label(self, other: Wish, wish: Wish) -> str:
        thing = self.works.bench.stall.named(other.thing)
        font = self.works.bench.font_title(other.style)
        if wish.design and not other.design and other.style == wish.style:
            return "The whole name"
        return font if other.thing == wish.thing or thing is None else f"{thing.title}, {font}"

    async def check(self, request: Request) -> Response:
        """The exact spelling, letter by letter, and the thing as it will be."""
        wish = await self._wish(request)
        if wish is None:
            return RedirectResponse("/", 303)
        thing = self.works.bench.stall.named(wish.thing)
        assert thing is not None  # noqa: S101 - _wish has looked
        offer = await self._offer(thing)
        if not offer.to_have:
            return self._gone(request, thing)
        picture = await self._draw(wish)
        if picture.sorry:
            return self._name_page(request, offer, wish, picture)
        return page(
            "check",
            thing=thing,
            wish=wish,
            picture=picture,
            key=secrets.token_hex(16),
            **self._about(request),
        )

    async def order(self, request: Request) -> Response:
        """Put the order into the ledger, then say its number."""
        as_json = "application/json" in request.headers.get("accept", "")
        form = await request.form(max_files=0, max_fields=12)
        wish, key, digest = self._wish_of(form), _text(form, "key"), _text(form, "digest")
        if wish is None or not is_key(key):
            return _told(as_json, request, self, "This page is too old. Please begin anew.", 400)
        known = await self.works.book_does(lambda book: book.receipt(key))
        if known is None and not self._orders.takes(source_of(request.scope)):
            return JSONResponse({"error": "one moment, please"}, 429, {"retry-after": "3"})
        picture = await self._draw(wish)
        if picture.sorry:
            return _told(as_json, request, self, picture.sorry, 422)
        if picture.digest != digest:
            return _told(as_json, request, self, "It would look different now. Please look at it again.", 409)
        terms, fields = self.works.bench.terms(wish), self.works.bench.fields(wish)
        try:
            receipt = await self.works.book_does(lambda b: b.confirm(key, wish, picture, terms, fields))
        except SoldOutError as error:
            return _told(as_json, request, self, f"Sorry, {error.message}.", 410)
        except MonikerfError as error:
            return _told(as_json, request, self, error.message, 503 if known is None else 409)
        if as_json:
            return JSONResponse(
                {"number": receipt.number, "minutes": receipt.minutes, "go": f"/number/{key}"}
            )
        return RedirectResponse(f"/number/{key}", 303)

    async def number(self, request: Request) -> Response:
        """The pick-up number; the name is not on this page."""
        key = request.path_params["key"]
        receipt = await self.works.book_does(lambda book: book.receipt(key)) if is_key(key) else None
        if receipt is None:
            return RedirectResponse("/", 303)
        return page("done", receipt=receipt, **self._about(request))

    def _gone(self, request: Request, thing: ThingTable) -> Response:
        return page("gone", 410, words=f"{thing.title}: all gone for now.", **self._about(request))

    def told(self, request: Request, words: str, status: int) -> Response:
        """A page that says one thing."""
        return page("gone", status, words=words, **self._about(request))

    async def _draw(self, wish: Wish) -> Picture:
        return await self.works.bench_does(lambda bench: bench.draw(wish))

    async def _offer(self, thing: ThingTable) -> Offer:
        offers = await self.works.book_does(lambda book: book.offers())
        return next(offer for offer in offers if offer.thing.id == thing.id)

    async def _wish(self, request: Request) -> Wish | None:
        """What a form asks for; None if it is no form of this visit's, or asks for what there is not."""
        form = await request.form(max_files=0, max_fields=12)
        token = _text(form, "token")
        if not self.works.door.signed("form", request.scope["visit"], token):
            return None
        return self._wish_of(form)

    def _wish_of(self, form: FormData) -> Wish | None:
        return wish_of(form, self.works.bench.stall)


def wish_of(form: FormData, stall: StallTable) -> Wish | None:
    """What a form asks for; None if the stall has no such thing, style or design."""
    thing = stall.named(_text(form, "thing"))
    style, design = _text(form, "style"), _text(form, "design")
    if thing is None or style not in thing.styles or design not in ("", *thing.monograms):
        return None
    second = tidy(_text(form, "second")) if thing.second else ""
    return Wish(thing.id, style, tidy(_text(form, "name")), second, design)


def _told(as_json: bool, request: Request, customer: Customer, words: str, status: int) -> Response:
    return JSONResponse({"error": words}, status) if as_json else customer.told(request, words, status)


def _text(form: FormData, name: str) -> str:
    value = form.get(name, "")
    return value if isinstance(value, str) else ""
