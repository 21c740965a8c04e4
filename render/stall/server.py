"""The application: both sides, the stall's own files, and the guard before them."""

from __future__ import annotations

import asyncio
import os
import secrets
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from starlette.applications import Starlette
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from render.errors import LibraryError
from render.stall.customer import Customer
from render.stall.guard import Bucket, Guard
from render.stall.maker import Maker
from render.stall.pages import asset

if TYPE_CHECKING:
    from collections.abc import AsyncIterator

    from starlette.requests import Request
    from starlette.types import ASGIApp

    from render.stall.works import Works

KEY_FILE: Final = ".stall-secret"
"""File in the shop folder: with it, tablets that were let in stay so when the stall is started again."""

_ASSETS: Final = {"stall.css": "text/css", "stall.js": "text/javascript", "maker.js": "text/javascript"}


@dataclass(frozen=True, slots=True)
class Rates:
    """Requests a second from one source, and how many at once; the same for new orders."""

    requests: tuple[float, float] = (80.0, 320.0)
    orders: tuple[float, float] = (1.0, 30.0)


def stall_app(works: Works, rates: Rates | None = None) -> ASGIApp:
    """The stall as an ASGI application."""
    rates = rates or Rates()

    @asynccontextmanager
    async def alive(_: Starlette) -> AsyncIterator[None]:
        warming = asyncio.create_task(works.warm_up())
        yield
        works.closing = True
        await warming
        works.close()

    async def own(request: Request) -> Response:
        name = request.path_params["name"]
        if name not in _ASSETS:
            return PlainTextResponse("there is no such page", 404)
        return Response(asset(name), media_type=_ASSETS[name])

    async def look(_: Request) -> Response:
        return Response(f":root{{--accent:{works.bench.stall.accent}}}", media_type="text/css")

    async def answers(_: Request) -> Response:
        return PlainTextResponse("here")

    async def nothing(_: Request) -> Response:
        return Response(status_code=204)

    routes = [
        *Customer(works, Bucket(*rates.orders)).routes(),
        *Maker(works).routes(),
        Route("/own/look.css", look),
        Route("/own/{name}", own),
        Route("/alive", answers),
        Route("/favicon.ico", nothing),
    ]
    return Guard(Starlette(routes=routes, lifespan=alive), works.door, Bucket(*rates.requests))


def stall_secret(shop: Path) -> bytes:
    """The shop's secret for its stall, made when it is first needed; nobody but its owner may read it.

    Raises:
        LibraryError: the file cannot be used.
    """
    file = shop / KEY_FILE
    try:
        if not file.is_file():
            made = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(made, "w") as out:
                out.write(secrets.token_hex(32))
        secret = bytes.fromhex(file.read_text().strip())
    except (OSError, ValueError) as error:
        raise LibraryError(
            "the stall's secret cannot be used", hint="delete that file", place=str(file)
        ) from error
    if len(secret) != 32:
        raise LibraryError("the stall's secret is damaged", hint="delete that file", place=str(file))
    return secret
