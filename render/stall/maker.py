"""The maker's side: behind a passphrase, the queue as it grows, loads, what is left, what was taken."""

from __future__ import annotations

import asyncio
import hashlib
import hmac
import secrets
import time
from collections.abc import AsyncIterator, Awaitable, Callable
from typing import TYPE_CHECKING, Final

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from render.errors import MonikerfError
from render.pipeline import stallsteps
from render.stall.desk import Desk
from render.stall.guard import Bucket, cookies_of, source_of
from render.stall.pages import filled, page

if TYPE_CHECKING:
    from render.stall.works import Works

MAKER: Final = "maker"
"""The cookie of the maker's session."""
SESSION_S: Final = 12 * 3600
LOOK_EVERY_S: Final = 0.5
"""So often the ledger is asked whether anything has happened, also by the command line."""
BEAT_S: Final = 10.0
"""So often a sign of life is sent, so that a page notices when the line is down."""

Act = Callable[[FormData], Awaitable[str]]


class Maker:
    """Answers to the maker."""

    def __init__(self, works: Works) -> None:
        self.works = works
        self._sessions: dict[str, float] = {}
        self._tries, self._all_tries = Bucket(0.1, 5), Bucket(0.5, 20)
        self._acts: dict[str, Act] = {
            "load": self._load, "made": self._made, "failed": self._failed, "drop": self._drop,
            "hand-over": self._hand_over, "pause": self._pause, "resume": self._resume,
            "cancel": self._cancel, "undo": self._undo,
        }  # fmt: skip

    def routes(self) -> list[Route]:
        """Where each page is."""
        return [
            Route("/maker", self.home),
            Route("/maker/enter", self.enter, methods=["POST"]),
            Route("/maker/leave", self.leave, methods=["POST"]),
            Route("/maker/board", self.board),
            Route("/maker/code", self.code),
            Route("/maker/events", self.events),
            Route("/maker/do", self.do, methods=["POST"]),
            *Desk(self.works, self._session).routes(),
        ]

    # ------------------------------------------------------------ coming in

    def _session(self, request: Request) -> str:
        """The maker's session of a request; empty without one."""
        told = cookies_of(request.headers).get(MAKER, "")
        mark = hashlib.sha256(told.encode()).hexdigest()
        return told if told and self._sessions.get(mark, 0.0) > time.monotonic() else ""

    async def enter(self, request: Request) -> Response:
        """Compare the passphrase in constant time; after a few wrong ones, wait."""
        source = source_of(request.scope)
        if not (self._tries.takes(source) and self._all_tries.takes("all")):
            return page("door", 429, shop=self.works.name, wrong="Too many tries. Wait a little.")
        form = await request.form(max_files=0, max_fields=4)
        told = str(form.get("passphrase", ""))
        digests = (hashlib.sha256(text.encode()).digest() for text in (told, self.works.passphrase))
        if not hmac.compare_digest(*digests):
            return page("door", 403, shop=self.works.name, wrong="That is not it.")
        session = secrets.token_hex(32)
        self._sessions[hashlib.sha256(session.encode()).hexdigest()] = time.monotonic() + SESSION_S
        response = RedirectResponse("/maker", 303)
        response.set_cookie(
            MAKER, session, httponly=True, samesite="strict", path="/maker", max_age=SESSION_S
        )
        return response

    async def leave(self, request: Request) -> Response:
        """End the session."""
        self._sessions.pop(hashlib.sha256(self._session(request).encode()).hexdigest(), None)
        response = RedirectResponse("/maker", 303)
        response.delete_cookie(MAKER, path="/maker")
        return response

    # ------------------------------------------------------------ the board

    async def home(self, request: Request) -> Response:
        """The board, or the door."""
        session = self._session(request)
        if not session:
            return page("door", shop=self.works.name, wrong="")
        return page("maker", shop=self.works.name, board=await self._board(session))

    async def board(self, request: Request) -> Response:
        """The board alone, to be put in place of the last one."""
        session = self._session(request)
        return HTMLResponse(await self._board(session)) if session else Response(status_code=403)

    async def _board(self, session: str) -> str:
        board = await self.works.book_does(lambda book: book.board())
        stall = self.works.bench.stall
        titles = {thing.id: thing.title for thing in stall.thing}
        blanks = {}
        for thing in stall.thing:
            blank = self.works.bench.job(thing.id, thing.styles[0]).blank
            blanks[blank.id] = blank.title
        fonts = {s: self.works.bench.font_title(s) for thing in stall.thing for s in thing.styles}
        return filled(
            "board", board=board, titles=titles, blanks=blanks, fonts=fonts, currency=self.works.currency,
            shop=str(self.works.shop.resolve()), token=self.works.door.sign("maker", session),
            tablets=bool(self.works.door.tablets),
        )  # fmt: skip

    async def code(self, request: Request) -> Response:
        """The address for tablets and phones, to be scanned (QR code, ISO/IEC 18004)."""
        address = self.works.door.tablets
        if not self._session(request) or not address:
            return RedirectResponse("/maker", 303)
        return page("code", shop=self.works.name, address=address, drawn=qr_svg(address))

    async def events(self, request: Request) -> Response:
        """A stream that says when something has happened (server-sent events, HTML Living Standard)."""
        if not self._session(request):
            return Response(status_code=403)
        return StreamingResponse(self._happenings(request), media_type="text/event-stream")

    async def _happenings(self, request: Request) -> AsyncIterator[str]:
        told, beat = -1, time.monotonic()
        yield "retry: 1500\n\n"
        while self._session(request) and not self.works.closing:
            last = await self.works.book_does(lambda book: book.ledger.last_event())
            if last != told:
                told, beat = last, time.monotonic()
                yield f"id: {last}\nevent: changed\ndata: {last}\n\n"
            elif time.monotonic() - beat > BEAT_S:
                beat = time.monotonic()
                yield "event: beat\ndata: 0\n\n"
            await asyncio.sleep(LOOK_EVERY_S)

    # ------------------------------------------------------------ what the maker does

    async def do(self, request: Request) -> Response:
        """One step; its answer says what came of it."""
        session = self._session(request)
        if not session:
            return JSONResponse({"error": "come in again"}, 403)
        form = await request.form(max_files=0, max_fields=12)
        if not self.works.door.signed("maker", session, str(form.get("token", ""))):
            return JSONResponse({"error": "this page is too old: load it again"}, 403)
        act = self._acts.get(str(form.get("act", "")))
        if act is None:
            return JSONResponse({"error": "there is no such step"}, 400)
        try:
            said = await act(form)
        except MonikerfError as error:
            return JSONResponse({"error": f"{error.message}. {error.hint}".strip()}, 409)
        return JSONResponse({"said": said})

    async def _load(self, form: FormData) -> str:
        remake = form.get("remake") == "1"
        files = await self.works.make_load(_word(form, "blank"), _word(form, "machine"), remake=remake)
        where = ", ".join(str(self.works.shop.resolve() / file) for file in files)
        return f"Written and verified: {where}"

    async def _made(self, form: FormData) -> str:
        return await self._mark(form, failed=False)

    async def _failed(self, form: FormData) -> str:
        return await self._mark(form, failed=True)

    async def _mark(self, form: FormData, *, failed: bool) -> str:
        load, place = _number(form, "load"), _number(form, "place") or None
        await self.works.book_does(lambda book: stallsteps.mark(book, load, place, failed=failed))
        where = f"place {place}" if place else "the rest"
        return f"Load {load}, {where}: {'failed, to be made again' if failed else 'made'}."

    async def _drop(self, form: FormData) -> str:
        load = _number(form, "load")
        await self.works.book_does(lambda book: stallsteps.drop(book, load))
        return f"Load {load} is given up; its pieces wait again."

    async def _hand_over(self, form: FormData) -> str:
        number = _number(form, "number")
        await self.works.book_does(lambda book: stallsteps.hand_over(book, number))
        return f"Number {number} is handed over."

    async def _pause(self, form: FormData) -> str:
        await self.works.book_does(lambda book: stallsteps.pause(book, _word(form, "thing"), paused=True))
        return "Taken off the table."

    async def _resume(self, form: FormData) -> str:
        await self.works.book_does(lambda book: stallsteps.pause(book, _word(form, "thing"), paused=False))
        return "Put out again."

    async def _cancel(self, form: FormData) -> str:
        number = _number(form, "number")
        await self.works.book_does(lambda book: stallsteps.cancel(book, number))
        return f"Number {number} is cancelled."

    async def _undo(self, _: FormData) -> str:
        return f"Taken back: {await self.works.book_does(stallsteps.undo)}."


def qr_svg(text: str) -> str:
    """A QR code as one SVG element: dark squares on white, with its quiet zone of four squares."""
    import segno

    code = segno.make(text, error="m", micro=False)
    side = len(code.matrix) + 8
    squares = "".join(
        f"M{x + 4} {y + 4}h1v1h-1z" for y, row in enumerate(code.matrix) for x, dark in enumerate(row) if dark
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side}" aria-hidden="true"'
        f' shape-rendering="crispEdges"><path fill="#fff" d="M0 0h{side}v{side}h-{side}z"/>'
        f'<path fill="#000" d="{squares}"/></svg>'
    )


def _word(form: FormData, name: str) -> str:
    value = form.get(name, "")
    return value if isinstance(value, str) else ""


def _number(form: FormData, name: str) -> int:
    text = _word(form, name)
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 7 else 0
